"""What a tablet asks and tells by itself: is there network, who is here, what do I still hold.

Always JSON, never a sign-in page; nothing of it enters the record book.
"""

import json
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from rest_framework.exceptions import ValidationError

from api.language import later
from api.pages.entries import is_entry
from api.pages.shell import public
from api.pages.tablet import people_here, tablet_of
from api.rest.devices import read_report
from api.rest.outputs import to_json
from api.rest.problems import explain, status_of
from stock import clock
from stock.access import Person
from stock.doors.devices import give_up, take_report
from stock.queries.devices import DeviceSeen, device_seen, last_entry_no
from stock.queries.tablets import works_with
from stock.refusals import NotFound, Refused, refuse

WHY_MOST = 2000
STALE = later(
    "The page was opened before the last sign-in; it is sent again with a fresh token."
)


def _program(view: Callable[..., dict[str, Any]]) -> Callable[..., HttpResponse]:
    """What a view gives as JSON; what it refuses as a problem."""

    @public
    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return as_json(view(request, *args, **kwargs))
        except (Refused, NotFound, ValidationError) as error:
            problem = explain(error, {})
            assert problem is not None
            return as_json(problem.data, problem.status_code)

    return answer


def as_json(body: Mapping[str, Any], status: int = 200) -> HttpResponse:
    return HttpResponse(to_json(body), status=status, content_type="application/json")


@require_safe
@_program
def contact(request: HttpRequest) -> dict[str, Any]:
    """A fresh token, the time here, who there is; numbers of entries go on from the last."""
    tablet = tablet_of(request)
    people = people_here(request)
    return {
        "now": clock.now(),
        "csrf": get_token(request),
        "device": tablet and str(tablet.uid),
        "last_entry_no": last_entry_no(tablet.uid) if tablet else 0,
        "people": [_named(one.uid, one.name) for one in people],
        "everybody": [_named(one.uid, one.name) for one in works_with(tablet)]
        if tablet
        else [],
        "signed_in": bool(people),
    }


@require_POST
@_program
def reports(request: HttpRequest) -> dict[str, Any]:
    """What the tablet still holds; it may tell this with nobody signed in."""
    device = _this(request)
    return take_report(device, read_report(_body(request)), clock.now(device.site))


@require_POST
@_program
def given_up(request: HttpRequest, no: int) -> dict[str, Any]:
    """An entry that will not be told: why, said by who made it or a manager."""
    device = _this(request)
    if not isinstance(request.user, Person):
        raise Refused(refuse("not_signed_in", _("Sign in first.")))
    body = _body(request)
    why = body.get("reason") if isinstance(body, Mapping) else None
    if not isinstance(why, str) or not 0 < len(why.strip()) <= WHY_MOST:
        raise Refused(refuse("reason_missing", _("Say why."), pointer="/reason"))
    give_up(request.user, device, no, why.strip(), clock.now(device.site))
    return {"answer": "given_up", "no": no}


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A token from before the last sign-in: a tablet fetches another and sends again."""
    if is_entry(request) or request.path.startswith("/tablet/"):
        return as_json({"answer": "later", "code": "csrf_failed", "says": [str(STALE)]}, 503)
    return render(request, "403_csrf.html", status=status_of("csrf_failed"))


def _named(uid: UUID, name: str) -> dict[str, str]:
    return {"uid": str(uid), "name": name}


def _this(request: HttpRequest) -> DeviceSeen:
    tablet = tablet_of(request)
    device = device_seen(tablet.uid) if tablet else None
    if device is None:
        raise NotFound
    return device


def _body(request: HttpRequest) -> Any:
    try:
        return json.loads(request.body or b"null")
    except ValueError as error:
        raise Refused(refuse("unreadable", _("The body is no JSON."), pointer="/")) from error
