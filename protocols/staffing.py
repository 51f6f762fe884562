"""Who is there when, as told: staffed hours and shifts read from the bodies of their facts."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from protocols.bodies import BodyRefused
from protocols.hours import DAY_MIN, ExceptionalDay, Hours, HoursHistory, Span, Weekly
from protocols.values import Reason

WALL = re.compile(r"([0-9]{2}):([0-5][0-9])")


def read_hours(body: Mapping[str, Any]) -> Hours:
    """Staffed hours from the body of an `hours_set` fact.

    `weekly[{day 0..6, from, to}]`, `exceptions[{date, from?, to?, why}]`; times `HH:MM`, `to`
    up to `24:00`; a `to` that is not after its `from` is on the next day. Raises BodyRefused.
    """
    weekly = (
        _weekly(pointer, row) for pointer, row in _rows("/weekly", body.get("weekly", []))
    )
    days = (
        _exception(pointer, row)
        for pointer, row in _rows("/exceptions", body.get("exceptions", []))
    )
    return Hours(tuple(weekly), tuple(days))


def hours_history(bodies: Iterable[Mapping[str, Any]]) -> HoursHistory:
    """All versions, from the bodies of `hours_set` facts in the order of the ledger.

    `in_force_from` is a text with its offset, or an aware datetime. Of two versions in force
    from the same moment the later entry holds.
    """
    versions = [
        (_moment("/in_force_from", body.get("in_force_from")), read_hours(body))
        for body in bodies
    ]
    return HoursHistory(tuple(sorted(versions, key=lambda version: version[0])))


def _rows(pointer: str, rows: Any) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if not isinstance(rows, list | tuple):
        raise _refused(pointer, "is not a list")
    for number, row in enumerate(rows):
        if not isinstance(row, Mapping):
            raise _refused(f"{pointer}/{number}", "is not an object")
        yield f"{pointer}/{number}", row


def _weekly(pointer: str, row: Mapping[str, Any]) -> Weekly:
    day = row.get("day")
    if isinstance(day, bool) or not isinstance(day, int) or not 0 <= day <= 6:
        raise _refused(f"{pointer}/day", "is not a whole number from 0 (Monday) to 6")
    return Weekly(day, *_from_to(pointer, row))


def _exception(pointer: str, row: Mapping[str, Any]) -> ExceptionalDay:
    try:
        day = date.fromisoformat(row["date"])
    except (KeyError, TypeError, ValueError) as error:
        raise _refused(f"{pointer}/date", "is not a date such as 2026-12-24") from error
    why = str(row.get("why", ""))
    if row.get("from") is None and row.get("to") is None:
        return ExceptionalDay(day, why)
    return ExceptionalDay(day, why, _from_to(pointer, row))


def _from_to(pointer: str, row: Mapping[str, Any]) -> tuple[int, int]:
    begins = _minutes(f"{pointer}/from", row.get("from"), most=DAY_MIN - 1)
    ends = _minutes(f"{pointer}/to", row.get("to"), most=DAY_MIN)
    return begins, ends if ends > begins else ends + DAY_MIN


def _minutes(pointer: str, text: Any, *, most: int) -> int:
    found = WALL.fullmatch(text) if isinstance(text, str) else None
    minutes = int(found[1]) * 60 + int(found[2]) if found else DAY_MIN + 1
    if minutes > most:
        raise _refused(pointer, "is not a time of day such as 08:30")
    return minutes


def _moment(pointer: str, told: Any) -> datetime:
    try:
        moment = told if isinstance(told, datetime) else datetime.fromisoformat(told)
    except (TypeError, ValueError) as error:
        raise _refused(pointer, "is not a moment such as 2026-12-24T13:00:00Z") from error
    if moment.tzinfo is None:
        raise _refused(pointer, "lacks its offset")
    return moment.astimezone(UTC).replace(microsecond=0)


def _refused(pointer: str, text: str) -> BodyRefused:
    return BodyRefused(Reason(code="unreadable", rule="form", text=text, pointer=pointer))


@dataclass(frozen=True, slots=True)
class Shift:
    """Who is on from when to when; `on_call` may be called, not expected to be there."""

    person: UUID
    span: Span
    on_call: bool = False


def read_shift(body: Mapping[str, Any]) -> Shift:
    """A shift from the body of a `shift_set` fact. Raises BodyRefused."""
    span = Span(_moment("/from", body.get("from")), _moment("/to", body.get("to")))
    if span.end <= span.start:
        raise _refused("/to", "is not after the beginning of the shift")
    return Shift(UUID(str(body["person"])), span, body.get("on_call") is True)


def on_shift(shifts: Iterable[Shift], at: datetime) -> frozenset[UUID]:
    """Who was there at a moment (on call is not there)."""
    return frozenset(one.person for one in shifts if one.span.holds(at) and not one.on_call)


def on_call(shifts: Iterable[Shift], at: datetime) -> frozenset[UUID]:
    """Who may be called at a moment."""
    return frozenset(one.person for one in shifts if one.span.holds(at) and one.on_call)
