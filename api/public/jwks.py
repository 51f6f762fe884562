"""The public keys of this service, for programs that check certificates."""

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from api.public.addresses import address_of
from api.public.answers import HOUR_S, keepable
from protocols.signing import public_jwk
from stock import keys
from stock.queries.signing_keys import known_keys

JWKS_PATH = "/.well-known/jwks.json"
PURPOSE = "certificate"


@require_safe
def jwks(request: HttpRequest) -> HttpResponseBase:
    """Every key that may have signed a certificate, the one that signs, and the next one.

    A compromised key is not among them: what it signs is worth nothing.
    """
    files = (keys.private_key(PURPOSE), keys.planned_key(PURPOSE))
    found = {one["kid"]: one for one in map(public_jwk, filter(None, files))}
    for kid, known in known_keys(PURPOSE).items():
        if known.state == "compromised":
            found.pop(kid, None)
        elif known.jwk is not None:
            found[kid] = dict(known.jwk)
    listed = list(found.values())
    return keepable(request, {"keys": listed}, "application/jwk-set+json", seconds=HOUR_S)


@require_safe
def issuer(request: HttpRequest) -> HttpResponseBase:
    """Who signs here, and where the keys are: what verifiers of credentials look for."""
    address = address_of(request)
    said = {"issuer": address, "jwks_uri": address + JWKS_PATH}
    return keepable(request, said, "application/json", seconds=HOUR_S)
