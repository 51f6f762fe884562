"""Public addresses answer whoever has them, but nobody so often that the others must wait.

Counted in memory, for each process by itself: a page that only reads must not write. Someone
who scans every bag of a delivery stays far below it; a program that tries addresses does not.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render

from api.limits import place_of, refused_answer
from protocols.said import said
from protocols.tries import CODE, Limit, Tried, may_try, one_more
from stock import clock
from stock.refusals import refuse

MINUTE = timedelta(minutes=1)
MOST = Limit(300, MINUTE)
PLACES_MOST = 10_000  # who came first is forgotten first


class Crowd:
    """How often each place asked within the last minute."""

    def __init__(self, limit: Limit) -> None:
        self._limit, self._seen = limit, OrderedDict[str, Tried]()
        self._lock = threading.Lock()

    def wait_s(self, place: str, at: datetime) -> int:
        """Count one request; in how many seconds to come again, 0 where it may be answered."""
        with self._lock:
            tried = self._seen.pop(place, None)
            stands = may_try(tried, self._limit, at)
            self._seen[place] = tried if stands and tried else one_more(tried, self._limit, at)
            while len(self._seen) > PLACES_MOST:
                self._seen.popitem(last=False)
        return max(int(stands[0].numbers["again_in_s"]), 1) if stands else 0


crowd = Crowd(MOST)
P = ParamSpec("P")


def not_too_often(
    view: Callable[Concatenate[HttpRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """The view, but 429 with `Retry-After` for a place that asks more than `MOST`."""

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        place = place_of(request)
        wait_s = crowd.wait_s(place, clock.now()) if place else 0
        if not wait_s:
            return view(request, *args, **kwargs)
        refused = _too_often(request, wait_s)
        refused["Retry-After"] = str(wait_s)
        refused["Cache-Control"] = "no-store"
        return refused

    return answer


def _too_often(request: HttpRequest, wait_s: int) -> HttpResponseBase:
    """A page for people, a problem for programs."""
    if "text/html" in request.headers.get("Accept", ""):
        return render(request, "public/too_often.html", {"wait_s": wait_s}, status=429)
    text = said("Too many requests from one place. Try again in {wait_s} s.", wait_s=wait_s)
    return refused_answer(request, refuse(CODE, text, again_in_s=wait_s))
