"""Tasks as people and programs read them: what comes first, what is left, what is short."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from protocols.clocks import elapsed_text
from protocols.doing_now import if_moved_now
from protocols.reconciling import DONE_BY_HAND, OPEN_STATES, TaskState
from protocols.taking import is_untouched
from protocols.tasks import What, Work, is_overdue, left
from protocols.work import urgency
from protocols.work_moves import supplied
from stock.judging.task_rows import work_of
from stock.judging.work_equipment import equipment_known
from stock.models import Batch, Container, Kit, Person, Room, Task
from stock.queries.amounts import amounts_at
from stock.queries.batches import timed
from stock.queries.so_far import OpenStay, stays_open
from stock.queries.work_words import task_text

MOST = 1000
SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Named:
    """What people call the things that tasks are about."""

    batches: Mapping[UUID, str]
    places: Mapping[UUID, str]
    stays: Mapping[UUID, OpenStay]


def task_page(person: Person, *, site: UUID | None, at: datetime) -> list[dict[str, Any]]:
    """Open tasks at the person's sites, the most urgent first; a foreign site gives none.

    A task is among them from when it was made to when it was closed. Six queries, and five more
    for each site.
    """
    rows = Task.objects.filter(site__roles__person=person).distinct()
    if site is not None:
        rows = rows.filter(site=site)
    open_then = Q(closed_at=None) | Q(closed_at__gt=at)
    found = rows.filter(open_then, made_at__lte=at).select_related("site", "taken_by")
    return _shown(list(found.order_by("limit", "uid")[:MOST]), at)


def task_shown(row: Task, at: datetime) -> dict[str, Any]:
    """One task, with its site and who took it already read. Eleven queries.

    Other moves are looked at too: what they get cannot be had for this one.
    """
    others = Task.objects.filter(
        site=row.site_id,
        what__in=(What.PREPARE.value, What.CALL_OUT.value),
        state__in=[one.value for one in OPEN_STATES],
    ).exclude(uid=row.uid)
    every = _shown([row, *others.select_related("site", "taken_by")], at)
    return next(one for one in every if one["uid"] == str(row.uid))


def site_of_text(text: str | None) -> UUID | None:
    """A site named in a query; what is no uid is a site that nobody has."""
    try:
        return None if text is None else UUID(text)
    except ValueError:
        return UUID(int=0)


def _shown(rows: Sequence[Task], at: datetime) -> list[dict[str, Any]]:
    by_site: dict[UUID, list[Task]] = {}
    for row in rows:
        by_site.setdefault(row.site_id, []).append(row)
    pairs = [pair for site, own in by_site.items() for pair in _supplied(site, own, at)]
    stays: dict[UUID, OpenStay] = {}
    for site in by_site:
        moved = {work.batch for row, work in pairs if row.site_id == site and work.batch}
        stays |= stays_open(site, batches=moved)
    names = _names([work for _, work in pairs], stays)
    amounts: dict[str, dict[str, Any]] = {}
    for site in by_site:
        amounts |= amounts_at(site, [work for row, work in pairs if row.site_id == site], at)
    ordered = sorted(pairs, key=lambda pair: urgency(pair[1]))
    return [
        {**_task(row, work, names, at), "amounts": amounts.get(work.key)}
        for row, work in ordered
    ]


def _supplied(site: UUID, rows: Iterable[Task], at: datetime) -> list[tuple[Task, Work]]:
    """Each row with its work, and which kit and container a coming move is to get."""
    rows = list(rows)
    found = supplied((work_of(row) for row in rows), equipment_known(site, at), at)
    return list(zip(rows, found, strict=True))


def _names(works: Collection[Work], stays: Mapping[UUID, OpenStay]) -> Named:
    batches = {work.batch for work in works if work.batch}
    codes = dict(Batch.objects.filter(uid__in=batches).values_list("uid", "code"))
    uids = {uid for work in works for uid in (work.container, work.kit, work.room) if uid}
    places: dict[UUID, str] = {}
    for sort in (Container, Kit, Room):
        places |= dict(sort.objects.filter(uid__in=uids).values_list("uid", "label"))
    return Named(codes, places, stays)


def _task(row: Task, work: Work, names: Named, at: datetime) -> dict[str, Any]:
    zone = ZoneInfo(row.site.zone)
    remaining = left(work, at)
    gap = work.no_slot_between
    state = _state(row, at)
    return {
        "uid": str(row.uid),
        "site": str(row.site_id),
        "key": work.key,
        "what": work.what.value,
        "why": work.why,
        "text": task_text(work, zone),
        "first": work.first,
        **_about(work, names),
        **timed("planned", work.planned, zone),
        **timed("limit", work.limit, zone),
        "no_slot_between": gap
        and {**timed("from", gap.start, zone), **timed("to", gap.end, zone)},
        "left_s": None if remaining is None else remaining // SECOND,
        "left_text": None if remaining is None else elapsed_text(remaining),
        "state": "overdue" if state in OPEN_STATES and is_overdue(work, at) else state.value,
        **_taken(row, state),
        "numbers": dict(work.numbers),
        "if_now": _if_now(work, names, at),
        "waits_for": list(work.waits_for),
        "not_by": [str(one) for one in work.not_by],
        "done_by_hand": work.what in DONE_BY_HAND,
        "handed_back": row.handed_back,
        "closed_at": row.closed_at,
        "closed_why": row.closed_why or None,
    }


def _if_now(work: Work, names: Named, at: datetime) -> dict[str, Any] | None:
    """What a move now would cost; None where that cannot be said, and of other work."""
    stay = names.stays.get(work.batch) if work.batch else None
    if work.what is not What.MOVE or stay is None or stay.so_far is None:
        return None
    found = if_moved_now(stay.so_far, at, work.planned)
    if found is None:
        return None
    return {
        "completes": found.completes,
        "early_s": found.early // SECOND,
        "moves": found.moves,
        "moves_at_limit": found.moves_at_limit,
        "moves_if_planned": found.moves_if_planned,
        "moves_in_all": found.in_all,
    }


def _about(work: Work, names: Named) -> dict[str, Any]:
    named = {"container": work.container, "kit": work.kit, "room": work.room}
    found: dict[str, Any] = {
        "batch": work.batch and str(work.batch),
        "batch_code": names.batches.get(work.batch) if work.batch else None,
    }
    for name, uid in named.items():
        found[name] = uid and str(uid)
        found[f"{name}_label"] = names.places.get(uid) if uid else None
    return found


def _state(row: Task, at: datetime) -> TaskState:
    """The state at a moment: what was closed later was still to be done."""
    state = TaskState(row.state)
    if row.closed_at is not None and row.closed_at > at:
        state = TaskState.TAKEN if row.taken_by_id else TaskState.OPEN
    free = state is TaskState.TAKEN and is_untouched(row.taken_at, at)
    return TaskState.OPEN if free else state


def _taken(row: Task, state: TaskState) -> dict[str, Any]:
    who = row.taken_by if state is not TaskState.OPEN else None
    return {
        "taken_by": who and str(who.uid),
        "taken_by_name": who and who.name,
        "taken_at": row.taken_at if who else None,
    }
