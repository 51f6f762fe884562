"""What the terms of certificates and events mean, for programs that read linked data."""

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from api.public.addresses import address_of
from api.public.answers import keepable
from protocols.credential import context_bytes
from protocols.epcis.context import CONTEXT_PATH as EPCIS_PATH
from protocols.epcis.context import epcis_context_bytes

CONTEXT_PATH = "/contexts/quarantine/v1"
YEAR_S = 365 * 24 * 3600


@require_safe
def context(request: HttpRequest) -> HttpResponseBase:
    """For ever the same bytes: certificates name their digest."""
    body = context_bytes(address_of(request) + CONTEXT_PATH)
    return keepable(request, body, "application/ld+json", seconds=YEAR_S)


@require_safe
def epcis_context(request: HttpRequest) -> HttpResponseBase:
    """For ever the same terms: events of every export point to them."""
    body = epcis_context_bytes(address_of(request) + EPCIS_PATH)
    return keepable(request, body, "application/ld+json", seconds=YEAR_S)
