"""The public keys of this service, for programs that check certificates."""

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from api.public.addresses import address_of
from api.public.answers import HOUR_S, keepable
from protocols.signing import public_jwk
from stock import keys
from stock.queries.signing_keys import public_keys

JWKS_PATH = "/.well-known/jwks.json"


@require_safe
def jwks(request: HttpRequest) -> HttpResponseBase:
    """Every key that may have signed a certificate, and the one that will sign the next."""
    known = {str(one["kid"]): one for one in public_keys("certificate")}
    current = public_jwk(keys.private_key("certificate"))
    found = list({current["kid"]: current, **known}.values())
    return keepable(request, {"keys": found}, "application/jwk-set+json", seconds=HOUR_S)


@require_safe
def issuer(request: HttpRequest) -> HttpResponseBase:
    """Who signs here, and where the keys are: what verifiers of credentials look for."""
    address = address_of(request)
    said = {"issuer": address, "jwks_uri": address + JWKS_PATH}
    return keepable(request, said, "application/json", seconds=HOUR_S)
