"""Pages and static files go over the air compressed, where that gives nothing away.

Compression and a secret in one answer betray the secret to whoever can put text of their own
beside it and watch the size (the BREACH attack). So only what repeats nothing of a request is
compressed: a page asked for by GET and without a query, whose address holds names of ours
alone. What stands on it is masked anew in every answer (the token against forgery), and Django
adds up to a hundred random bytes to each.
"""

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

TEXTS = ("text/css", "text/javascript", "application/javascript", "image/svg+xml")


class Zipped(GZipMiddleware):
    """Django's compression, for the answers named above."""

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        """The answer, compressed where the browser takes it and nothing is given away."""
        if not may_be_zipped(request, response):
            return response
        return super().process_response(request, response)


def may_be_zipped(request: HttpRequest, response: HttpResponseBase) -> bool:
    """Whether nothing of the request can stand in the answer."""
    if request.method != "GET" or response.status_code != 200:
        return False
    sort = response.headers.get("Content-Type", "").partition(";")[0]
    if request.path.startswith(settings.STATIC_URL):
        return sort in TEXTS
    return sort == "text/html" and not request.META.get("QUERY_STRING")
