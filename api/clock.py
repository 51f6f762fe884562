"""Under the test clock a request names its moment in the header `Fillmark-Now`."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse

from protocols import clocks
from stock import clock

Answering = Callable[[HttpRequest], HttpResponse]


class NamedMoment:
    """The named moment is the present for this request; off, the header is ignored."""

    def __init__(self, answer: Answering) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        text = request.headers.get("Fillmark-Now")
        if text is None or not settings.TEST_CLOCK:
            return self.answer(request)
        try:
            moment, _ = clocks.read_moment(text)
        except (clocks.Unreadable, clocks.OffsetMissing):
            body = {"code": "unreadable", "status": 400, "title": "Fillmark-Now is no time"}
            return JsonResponse(body, status=400, content_type="application/problem+json")
        with clock.named(moment):
            return self.answer(request)
