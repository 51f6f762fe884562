"""A request that is too large, or can be in no text, is refused before anything reads it."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from api.pages.objections import objection
from api.rest.problems import problem
from protocols.values import Reason
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
        text = f"At most {most} bytes can be sent here."
        return refused_answer(request, refuse("too_large", text, most_bytes=most))


class NoNulInQueries:
    """A query with a NUL names nothing, and PostgreSQL keeps no text with one."""

    def __init__(self, answer: Answering) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        named = [name for name, values in request.GET.lists() if "\0" in name + "".join(values)]
        if not named:
            return self.answer(request)
        pointer = "/" + named[0].replace("\0", "")
        text = "A query is text without NUL."
        return refused_answer(request, refuse("unreadable", text, pointer=pointer))


def refused_answer(request: HttpRequest, reason: Reason) -> HttpResponse:
    """A page for a browser, a problem for programs."""
    refused = problem(reason.code, (reason,))
    if "text/html" in request.headers.get("Accept", ""):
        context = {"objections": [objection(reason)]}
        return render(request, "pages/refused.html", context, status=refused.status_code)
    return JsonResponse(
        refused.data, status=refused.status_code, content_type="application/problem+json"
    )


def place_of(request: HttpRequest) -> str:
    """From where somebody asks, to count what they try; "" where nobody can tell.

    Behind our proxy it is what that one wrote last; a proxy that says nothing is no place.
    """
    told = request.META.get("HTTP_X_FORWARDED_FOR", "") if settings.HTTPS else ""
    place = told.rpartition(",")[2].strip() or request.META.get("REMOTE_ADDR", "")
    return "" if place in ("127.0.0.1", "::1") else place[:64]


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
