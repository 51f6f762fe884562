"""Entries that a tablet made without network, sent to the page they were made on.

The answer is JSON for a program: a sign-in page or an error page is never taken for a success;
whatever has no member `answer` is none. `stored` is said only after the page came back from
its door, which commits before it answers.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse

from api.language import spoken
from api.pages.tablet import people_here, tablet_of
from api.rest.outputs import to_json
from api.rest.problems import shown_reason, status_of
from protocols import clocks
from protocols.said import said
from protocols.values import Reason
from stock import clock
from stock.access import Person
from stock.answers import Answered
from stock.doors.devices import Came, Outcome, note_entry
from stock.doors.door import DeviceEntry
from stock.queries.devices import DeviceSeen, Doer, device_seen, doer_at
from stock.queries.sign_ins import held_by
from stock.refusals import NotFound, Refused, refuse

STATUS = {"stored": 200, "again": 200, "parked": 200, "look": 409, "sign_in": 401, "later": 503}
LATER = frozenset({"busy", "too_many"})
DIGITS_MOST = 15
NOT_KEPT = ("csrfmiddlewaretoken", "request_key")


@dataclass(slots=True)
class Entry:
    """One entry on its way through its page, and what came of it there."""

    came: Came
    doer: Doer
    delivered: bool
    asked: bool = False  # a question was put to a door
    answered: Answered | None = None
    refused: Refused | None = None
    form: forms.Form | None = None

    @property
    def device(self) -> DeviceEntry:
        """As the record book keeps it."""
        came = self.came
        return DeviceEntry(
            came.device.uid, came.no, came.raw_at, came.clock_offset_ms, self.delivered
        )

    def moment(self, now: datetime) -> datetime:
        """When the key was pressed, by the corrected clock of the tablet; never after `now`.

        A clock that nobody ever measured may run ahead: nothing can have been pressed later
        than it arrived.
        """
        came = self.came
        pressed = came.raw_at.replace(microsecond=0)
        if came.clock_offset_ms is not None:
            pressed = clocks.corrected(came.raw_at, came.clock_offset_ms)
        return min(pressed, now)


def is_entry(request: HttpRequest) -> bool:
    return request.method == "POST" and "Fillmark-Entry" in request.headers


def entry_of(request: HttpRequest) -> Entry | None:
    """The entry that this request brings, once it was read; None for every other request."""
    found: Entry | None = vars(request).get("fillmark_entry")
    return found


def take(request: HttpRequest, view: Callable[[], HttpResponse]) -> HttpResponse:
    """Let the page's own code have the entry as its doer's, and say as JSON what came of it."""
    try:
        came, doer = _read(request)
    except Refused as refused:
        return _as_json(_refusal(request, refused))
    except NotFound:
        return _as_json(_refusal(request, Refused(refuse("not_found", NOBODY_HERE))))
    now = clock.now(came.device.site)
    entry = Entry(came, doer, delivered=False)
    try:
        _stand_for(request, entry)
        vars(request)["fillmark_entry"] = entry
        body = _said(request, entry, view())
    except Refused as refused:
        body = _refusal(request, refused)
    except NotFound:
        body = _refusal(request, Refused(refuse("not_found", "There is no such thing here.")))
    except Exception:
        _keep(request, entry, {"answer": "later", "says": []}, now)
        raise
    if body["answer"] == "sign_in":
        body["who"] = {"uid": str(doer.uid), "name": doer.name}
    if not _keep(request, entry, body, now):
        body = {"answer": "later", "says": [spoken(BUSY)]}
    return _as_json({"no": came.no, **body})


NOBODY_HERE = "This tablet or this person is not known here."
NO_ENTRY = "It could not be read as an entry of this page."
BUSY = "Somebody else is writing; it is sent again."


# -- Who brings it -----------------------------------------------------------------------------


def _stand_for(request: HttpRequest, entry: Entry) -> None:
    """From here on the doer acts, if signed in here; else who delivers it."""
    here = {one.uid: one for one in people_here(request)}
    if entry.doer.uid in here:
        request.user = here[entry.doer.uid]
        entry.came = replace(entry.came, messenger=entry.doer.uid)
        return
    if not here or request.headers.get("Fillmark-Delivered") != "1":
        raise Refused(
            refuse("not_signed_in", said("{name} signs in to send it.", name=entry.doer.name))
        )
    entry.delivered = True


# -- What it says ------------------------------------------------------------------------------


def _read(request: HttpRequest) -> tuple[Came, Doer]:
    device = device_seen(_uid(request, "Fillmark-Device"))
    if not people_here(request) and not _is_tablet(request, device):
        raise Refused(refuse("not_signed_in", "Sign in to send it."))
    if device is None or not _is_ours(request, device):
        raise NotFound
    doer = doer_at(device.site, device.organisation, _uid(request, "Fillmark-Doer"))
    if doer is None:
        raise NotFound
    offset_ms = _whole(request, "Fillmark-Clock-Offset")
    came = Came(
        device=device,
        no=_number(request),
        key=_plain(request.POST.get("request_key", ""))[:200],
        address=_plain(request.path)[:300],
        doer=doer.uid,
        messenger=getattr(request.user, "uid", None),
        raw_at=_moment(request),
        # Of one that was never measured before it went off the network: as it runs now.
        clock_offset_ms=device.clock_offset_ms if offset_ms is None else offset_ms,
        monotonic_ms=_whole(request, "Fillmark-Monotonic"),
    )
    return came, doer


def _is_tablet(request: HttpRequest, device: DeviceSeen | None) -> bool:
    tablet = tablet_of(request)
    return tablet is not None and device is not None and tablet.uid == device.uid


def _is_ours(request: HttpRequest, device: DeviceSeen) -> bool:
    """Whether this browser is that tablet, or who is signed in works where it belongs."""
    if _is_tablet(request, device):
        return True
    held = held_by(request.user) if isinstance(request.user, Person) else ()
    return any(one.site.organisation_id == device.organisation for one in held)


def _uid(request: HttpRequest, name: str) -> UUID:
    try:
        return UUID(request.headers.get(name, ""))
    except ValueError as error:
        raise Refused(
            refuse("unreadable", said("{name} is no uid.", name=name), pointer=f"/{name}")
        ) from error


def _number(request: HttpRequest) -> int:
    number = _whole(request, "Fillmark-Entry")
    if number is None or number < 1:
        raise Refused(refuse("not_positive", "Entries are counted from 1.", pointer="/no"))
    return number


def _whole(request: HttpRequest, name: str) -> int | None:
    text = request.headers.get(name)
    if text is None:
        return None
    digits = text.removeprefix("-")
    if not (digits.isascii() and digits.isdecimal() and len(digits) <= DIGITS_MOST):
        problem = said("{name} is no whole number.", name=name)
        raise Refused(refuse("not_whole", problem, pointer=f"/{name}"))
    return int(text)


def _moment(request: HttpRequest) -> datetime:
    try:
        return clocks.read_moment(request.headers.get("Fillmark-Raw-At", ""))[0]
    except clocks.OffsetMissing as error:
        text = "Fillmark-Raw-At has no offset from UTC."
        raise Refused(refuse("offset_missing", text, pointer="/raw_at")) from error
    except clocks.Unreadable as error:
        text = "Fillmark-Raw-At is no time."
        raise Refused(refuse("unreadable", text, pointer="/raw_at")) from error


# -- What came of it ---------------------------------------------------------------------------


def _said(request: HttpRequest, entry: Entry, response: HttpResponse) -> dict[str, Any]:
    told = [str(one) for one in get_messages(request)]
    if (answered := entry.answered) is not None:
        fact = answered.body.get("fact")
        parked = bool(fact and fact["parked"])
        answer = "parked" if parked else "again" if answered.replayed else "stored"
        open_ = answered.body.get("deviations", [])
        return {"answer": answer, "says": told, "fact": fact, "deviations": open_}
    if entry.refused is not None:
        return _refusal(request, entry.refused) | _fields(entry.form)
    if entry.asked and response.status_code == 302:
        return {"answer": "stored", "says": told, "fact": None, "deviations": []}
    says = [*told, *_texts(entry.form)] or [spoken(NO_ENTRY)]
    return {"answer": "look", "says": says, "reasons": [], **_where(request)} | _fields(
        entry.form
    )


def _refusal(request: HttpRequest, refused: Refused) -> dict[str, Any]:
    codes = {one.code for one in refused.reasons}
    says = [spoken(one.text) or one.code.replace("_", " ") for one in refused.reasons]
    if codes & LATER:
        return {"answer": "later", "says": says}
    if any(status_of(code) == STATUS["sign_in"] for code in codes):
        return {"answer": "sign_in", "says": says, "reasons": _shown(refused.reasons)}
    body = {"answer": "look", "says": says, "reasons": _shown(refused.reasons)}
    existing = {} if refused.existing is None else {"existing": refused.existing}
    return body | existing | dict(refused.extra) | _where(request)


def _shown(reasons: Iterable[Reason]) -> list[dict[str, Any]]:
    return [shown_reason(one) for one in reasons]


def _where(request: HttpRequest) -> dict[str, Any]:
    """The page on which a person can look at it."""
    return {"href": request.path, "fields": {}}


def _fields(form: forms.Form | None) -> dict[str, Any]:
    """What is wrong, by the field it was typed in."""
    errors: Mapping[str, Any] = form.errors if form is not None else {}
    return {"fields": {name: [str(one) for one in texts] for name, texts in errors.items()}}


def _texts(form: forms.Form | None) -> list[str]:
    """The same as sentences."""
    found: list[str] = []
    for name, texts in form.errors.items() if form is not None else ():
        label = form.fields[name].label if form and name in form.fields else None
        found += [f"{label} {one}" if label else str(one) for one in texts]
    return found


def _keep(request: HttpRequest, entry: Entry, body: Mapping[str, Any], now: datetime) -> bool:
    """Whether it is kept that this entry came; what it said too, where a person must look."""
    fact = body.get("fact")
    looked = body["answer"] == "look"
    posted = {
        _plain(name): [_plain(text) for text in texts]
        for name, texts in request.POST.lists()
        if name not in NOT_KEPT
    }
    outcome = Outcome(
        answer=body["answer"],
        fact=UUID(fact["uid"]) if fact else None,
        says=body.get("says", ()),
        fields=posted if looked else {},
    )
    try:
        note_entry(entry.came, outcome, now)
    except Refused:
        return False
    return True


def _plain(text: str) -> str:
    """Without NUL, of which PostgreSQL keeps no text."""
    return text.replace("\0", "")


def _as_json(body: Mapping[str, Any]) -> HttpResponse:
    status = STATUS[body["answer"]]
    return HttpResponse(to_json(body), status=status, content_type="application/json")
