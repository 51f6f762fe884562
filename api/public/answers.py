"""Answers that anybody may keep for a while, and what no search engine may list."""

import hashlib

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.cache import get_conditional_response

from api.rest.outputs import to_json

CREDENTIAL = "application/vc+jwt"
HOUR_S = 3600


def keepable(
    request: HttpRequest, body: bytes | object, content_type: str, *, seconds: int
) -> HttpResponseBase:
    """A body that may be kept so long, and asked for anew by its digest, from any web page."""
    data = body if isinstance(body, bytes) else to_json(body)
    answer = HttpResponse(data, content_type=content_type)
    answer["ETag"] = etag = f'"{hashlib.sha256(data).hexdigest()}"'
    answer["Cache-Control"] = f"public, max-age={seconds}"
    answer["Access-Control-Allow-Origin"] = "*"
    return get_conditional_response(request, etag=etag, response=answer) or answer


def unlisted(answer: HttpResponse) -> HttpResponse:
    """An answer about one certificate: true now, for whoever has the address."""
    answer["Cache-Control"] = "no-store"
    answer["Vary"] = "Accept"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    # No other site learns the address; without any referrer browsers send forms of the page
    # with the origin "null", which the guard against forgery refuses.
    answer["Referrer-Policy"] = "same-origin"
    return answer


def not_there(request: HttpRequest) -> HttpResponse:
    """The same answer for what never was and what nobody may see."""
    body = {"type": "about:blank", "title": "not found", "status": 404, "code": "not_found"}
    return HttpResponse(to_json(body), status=404, content_type="application/problem+json")
