"""Sheets of paper: what would stand on one now, and which of its lines are on record."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import parse_utc, utc_text
from protocols.paper import (
    MOVES_AHEAD,
    WORK_AHEAD,
    LineKind,
    SheetLine,
    is_ahead,
    line_fact,
    line_named,
    numbered,
)
from protocols.reconciling import OPEN_STATES
from protocols.tasks import What
from stock.judging.task_rows import work_of
from stock.models import (
    Batch,
    Container,
    Fact,
    Kit,
    PaperSheet,
    Person,
    Site,
    StayRow,
    Task,
)
from stock.queries.batch_lists import brought_to
from stock.queries.work_words import task_text
from stock.refusals import NotFound

SHEETS_MOST = 50
# What has a part of the sheet of its own.
APART = (What.MOVE, What.ROUND, What.READING, What.WATER_TEST)
UIDS = ("batch", "container", "kit", "room")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as it was printed."""

    uid: UUID
    site: UUID
    code: str
    made_at: datetime
    lines: tuple[SheetLine, ...]
    photos: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Typed:
    """A line that is on record: when it happened, when it was typed in and by whom."""

    happened_at: datetime
    typed_at: datetime
    who: str


def lines_now(site: UUID, zone: ZoneInfo, at: datetime) -> tuple[SheetLine, ...]:
    """What stands on a sheet that is printed now. Five queries, more where facts wait."""
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    stays = list(
        rows.select_related("batch__site", "container__rack__room", "kit").order_by(
            "container__label"
        )
    )
    brought_to([one.batch for one in stays], at)
    return numbered(
        [*_moves(stays, at), *_rounds(stays), *_readings(stays), *_work(site, zone, at)]
    )


def _moves(stays: Iterable[StayRow], at: datetime) -> Iterator[SheetLine]:
    """Whoever has a limit, the earliest first."""
    due = [
        one for one in stays if one.batch.limit and is_ahead(one.batch.limit, at, MOVES_AHEAD)
    ]
    for stay in sorted(due, key=lambda one: (one.batch.limit, one.container.label)):
        yield SheetLine(
            LineKind.MOVE,
            label=stay.container.label,
            text=stay.batch.code,
            due=stay.batch.limit,
            batch=stay.batch_id,
            container=stay.container_id,
            kit=stay.kit_id,
        )


def _rounds(stays: Iterable[StayRow]) -> Iterator[SheetLine]:
    rooms: dict[UUID, tuple[str, list[str]]] = {}
    for stay in stays:
        room = stay.container.rack.room
        rooms.setdefault(room.uid, (room.label, []))[1].append(stay.container.label)
    for uid, (label, inside) in sorted(rooms.items(), key=lambda one: one[1][0]):
        yield SheetLine(LineKind.ROUND, label=label, room=uid, inside=tuple(inside))


def _readings(stays: Iterable[StayRow]) -> Iterator[SheetLine]:
    for stay in stays:
        yield SheetLine(
            LineKind.READING,
            label=stay.container.label,
            text=stay.batch.code,
            batch=stay.batch_id,
            container=stay.container_id,
        )


def _work(site: UUID, zone: ZoneInfo, at: datetime) -> Iterator[SheetLine]:
    """Everything else that is due until tomorrow, the first by its limit first."""
    states = [one.value for one in OPEN_STATES]
    works = [work_of(row) for row in Task.objects.filter(site=site, state__in=states)]
    due = [
        one for one in works if one.what not in APART and is_ahead(one.limit, at, WORK_AHEAD)
    ]
    named = _names(site)
    for work in sorted(
        due, key=lambda one: (one.limit or datetime.max.replace(tzinfo=zone), one.key)
    ):
        uids = {name: getattr(work, name) for name in UIDS}
        labels = [named[uid] for uid in uids.values() if uid in named]
        yield SheetLine(
            LineKind.WORK,
            label=", ".join(labels),
            text=task_text(work, zone),
            due=work.limit,
            what=work.what.value,
            **uids,
        )


def _names(site: UUID) -> dict[UUID, str]:
    found: dict[UUID, str] = {}
    for rows, name in (
        (Container.objects.filter(site=site), "label"),
        (Kit.objects.filter(site=site), "label"),
        (Batch.objects.filter(site=site, closed_at=None), "code"),
    ):
        found |= dict(rows.values_list("uid", name))
    return found


# -- Kept as they were printed -----------------------------------------------------------------


def kept_line(line: SheetLine) -> dict[str, Any]:
    """A line as it is kept."""
    return {
        "kind": line.kind.value,
        "label": line.label,
        "text": line.text,
        "due": line.due and utc_text(line.due),
        "n": line.n,
        "what": line.what,
        "inside": list(line.inside),
        **{name: str(uid) for name in UIDS if (uid := getattr(line, name)) is not None},
    }


def _read_line(kept: dict[str, Any]) -> SheetLine:
    return SheetLine(
        kind=LineKind(kept["kind"]),
        label=kept["label"],
        text=kept["text"],
        due=parse_utc(kept["due"]) if kept["due"] else None,
        n=kept["n"],
        what=kept["what"],
        inside=tuple(kept["inside"]),
        **{name: UUID(kept[name]) for name in UIDS if name in kept},
    )


def sheet_of(row: PaperSheet) -> Sheet:
    """A kept sheet as it is read."""
    lines = tuple(_read_line(one) for one in row.lines)
    return Sheet(row.uid, row.site, row.code, row.made_at, lines, tuple(row.photos))


def sheet_seen(uid: UUID) -> Sheet:
    """One sheet. One query. Raises NotFound."""
    row = PaperSheet.objects.filter(uid=uid).first()
    if row is None:
        raise NotFound
    return sheet_of(row)


def sheets_of(site: UUID) -> list[Sheet]:
    """The newest sheets of a site. One query."""
    rows = PaperSheet.objects.filter(site=site).order_by("-made_at", "code")[:SHEETS_MOST]
    return [sheet_of(row) for row in rows]


def typed_lines(sheet: Sheet) -> dict[int, Typed]:
    """The lines that are on record, by number. Two queries."""
    numbers = {line_fact(sheet.uid, line.n): line.n for line in sheet.lines}
    facts = list(Fact.objects.filter(uid__in=numbers, log=sheet.site))
    names = dict(
        Person.objects.filter(uid__in={one.messenger for one in facts}).values_list(
            "uid", "name"
        )
    )
    return {
        numbers[one.uid]: Typed(one.performed_at, one.recorded_at, names.get(one.messenger, ""))
        for one in facts
    }


def who_is_where(site: UUID) -> list[tuple[str, str]]:
    """The batches that are here, by container: uid and words. One query."""
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    named = rows.order_by("container__label").values_list(
        "batch", "container__label", "batch__code"
    )
    return [(str(uid), f"{label}, {code}") for uid, label, code in named]


def line_of(sheet: Sheet, n: int) -> SheetLine:
    """One line of a sheet. Raises NotFound."""
    found = line_named(sheet.lines, n)
    if found is None:
        raise NotFound
    return found


def sites_by_name() -> list[tuple[UUID, str, str]]:
    """Every site of the service with its zone, for a command. One query."""
    return list(Site.objects.order_by("name", "uid").values_list("uid", "name", "zone"))
