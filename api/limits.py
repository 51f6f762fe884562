"""A request that is too large is refused before anything reads it."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from api.pages.objections import objection
from api.rest.problems import problem
from stock.refusals import refuse

Answering = Callable[[HttpRequest], HttpResponse]


class SizeLimit:
    """Looks at the announced length alone.

    That is enough: a body longer than announced is cut off by the server, and one without
    an announced length reads as empty.
    """

    def __init__(self, answer: Answering) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        most = most_bytes(request.content_type)
        if length(request) <= most:
            return self.answer(request)
        reason = refuse("too_large", f"At most {most} bytes can be sent here.", most_bytes=most)
        if "text/html" in request.headers.get("Accept", ""):
            context = {"objections": [objection(reason)]}
            return render(request, "pages/refused.html", context, status=413)
        refused = problem("too_large", (reason,))
        return JsonResponse(
            refused.data, status=refused.status_code, content_type="application/problem+json"
        )


def most_bytes(content_type: str | None) -> int:
    """Files may be large, since they go to disk; everything else is read into memory."""
    if content_type == "multipart/form-data":
        # The parts around a file need room as well.
        return settings.FILE_MOST_BYTES + settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    return settings.DATA_UPLOAD_MAX_MEMORY_SIZE


def length(request: HttpRequest) -> int:
    """The announced length; 0 where none is announced, or nonsense."""
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdigit() else 0
