"""What people were told at a site, by which way, and whether they have read it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from protocols import calls
from protocols.calls import Standing
from protocols.clocks import parse_utc
from protocols.reconciling import OPEN_STATES
from stock.models import Call, CallItem, Container, Notice, OwnAddress, Person, Sending, Task
from stock.queries.rooms import closed_rooms, containers_of

PAGE = 50
OPEN = frozenset(one.value for one in OPEN_STATES)


@dataclass(frozen=True, slots=True)
class Told:
    """One notice of a call, with the label of its place."""

    kind: str
    body: Mapping[str, Any]
    place: str = ""


@dataclass(frozen=True, slots=True)
class CallSeen:
    """One call as its person reads it: what, when, by which ways it went."""

    uid: UUID
    kind: str
    due_at: datetime
    read_at: datetime | None
    items: tuple[Told, ...]
    ways: tuple[Sending, ...]


def items_worth_telling(call: Call, at: datetime) -> tuple[list[Told], str]:
    """What of a call is still true at `at`, why not where nothing is. Three to five queries.

    Of one task only what was said last.
    """
    notices = _notices(call)
    tasks = {UUID(one.body["task"]) for one in notices if "task" in one.body}
    states = dict(Task.objects.filter(uid__in=tasks).values_list("uid", "state"))
    closed = closed_rooms(call.site, at)
    inside = containers_of(closed)
    found: dict[str, Notice] = {}
    why = "settled"
    for one in notices:
        limit, task = one.body.get("limit"), one.body.get("task")
        said = calls.worth_telling(
            Standing(
                kind=one.kind,
                limit=parse_utc(limit) if limit else None,
                settled=task is not None and states.get(UUID(task)) not in OPEN,
                closed_room=one.body.get("container") in inside,
            ),
            at,
        )
        if said:
            why = said
        else:
            found[str(task or one.effect)] = one
    return told_of(found.values()), why


def calls_of(person: Person, site: UUID, at: datetime) -> list[CallSeen]:
    """The newest calls of a person at a site that they are to know of by `at`, newest first.

    Four queries, none of the last three where there are none.
    """
    items = CallItem.objects.select_related("notice").order_by("notice")
    sendings = Sending.objects.select_related("address").order_by("pk")
    rows = (
        Call.objects.filter(person=person, site=site, due_at__lte=at)
        .order_by("-due_at", "-uid")
        .prefetch_related(Prefetch("items", items), Prefetch("sendings", sendings))
    )[:PAGE]
    found = list(rows)
    places = _places(one.notice for row in found for one in row.items.all())
    return [
        CallSeen(
            row.uid,
            row.kind,
            row.due_at,
            row.read_at,
            tuple(_told(one.notice, places) for one in row.items.all()),
            tuple(row.sendings.all()),
        )
        for row in found
    ]


def unread(person: Person, site: UUID, at: datetime) -> int:
    """How many calls somebody has not read yet. One query."""
    return Call.objects.filter(person=person, site=site, due_at__lte=at, read_at=None).count()


def addresses_of(person: Person) -> list[dict[str, Any]]:
    """Where somebody is called, without the addresses themselves, and what came of the newest
    test of each. Two queries."""
    tests = Sending.objects.filter(address__person=person, call=None).order_by("pk")
    newest = {one.address_id: one for one in tests}
    rows = OwnAddress.objects.filter(person=person).order_by("label")
    return [
        {
            "uid": row.uid,
            "label": row.label,
            "service": row.service,
            "made_at": row.made_at,
            "test": newest.get(row.uid),
        }
        for row in rows
    ]


def told_of(notices: Iterable[Notice]) -> list[Told]:
    """Notices with the labels of their places. One query."""
    each = list(notices)
    places = _places(each)
    return [_told(one, places) for one in each]


def _told(notice: Notice, places: Mapping[str, str]) -> Told:
    place = places.get(str(notice.body.get("container")), "")
    return Told(notice.kind, notice.body, place)


def _places(notices: Iterable[Notice]) -> dict[str, str]:
    uids = {one.body["container"] for one in notices if one.body.get("container")}
    if not uids:
        return {}
    rows = Container.objects.filter(uid__in=uids).values_list("uid", "label")
    return {str(uid): label for uid, label in rows}


def _notices(call: Call) -> Sequence[Notice]:
    return list(Notice.objects.filter(items__call=call).order_by("pk"))
