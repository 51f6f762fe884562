"""Status lists: which certificates of an organisation are revoked or suspended, bit by bit."""

from uuid import UUID

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from api.public.addresses import address_of
from api.public.answers import CREDENTIAL, keepable, not_there
from protocols.credential import Issuer
from protocols.status_list import empty_bits, status_list_payload, with_bit
from stock import clock, keys
from stock.queries.status import marked, name_of

# So long may a verifier go on with a list it has: a suspension is seen a minute later at most.
KEPT_S = 60


@require_safe
def status_list(request: HttpRequest, organisation: UUID, purpose: str) -> HttpResponseBase:
    """The list of one purpose, signed as it is read."""
    name = name_of(organisation)
    if name is None:
        return not_there(request)
    at, address = clock.now(), address_of(request)
    entries, places = marked(organisation, purpose, at)
    bits = empty_bits(entries)
    for place in places:
        bits = with_bit(bits, place)
    url = f"{address}/status/{organisation}-{purpose}"
    # As of the minute: within it the same list is the same bytes, and need not be sent again.
    minute = at.replace(second=0, microsecond=0)
    said = status_list_payload(url, Issuer(address, name), purpose, bits, minute)
    token = keys.signed(said)
    return keepable(request, token.encode(), CREDENTIAL, seconds=KEPT_S)
