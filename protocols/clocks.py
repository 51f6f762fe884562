"""Moments and wall clocks: limits are elapsed UTC seconds, people read local times.

Every moment is aware UTC in whole seconds. The present is never read here.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_WALL = (
    r"(?P<date>[0-9]{4}-[0-9]{2}-[0-9]{2})[Tt ](?P<minute>[0-9]{2}:[0-9]{2})"
    r"(?::(?P<second>[0-9]{2})(?:[.,][0-9]+)?)?"
)
LOCAL = re.compile(_WALL)
MOMENT = re.compile(_WALL + r"(?P<offset>[Zz]|[+-][0-9]{2}:?[0-9]{2})?")


class Unreadable(ValueError):
    """The text is no ISO 8601 date and time."""


class OffsetMissing(ValueError):
    """The text is a date and time, but nobody can say which moment it means."""


@dataclass(frozen=True, slots=True)
class Twice:
    """A wall time that the clocks show twice, as they are put back. Both moments, UTC."""

    earlier: datetime
    later: datetime


@dataclass(frozen=True, slots=True)
class Never:
    """A wall time that is left out, as the clocks are put forward.

    `earlier` and `later` (UTC) are what somebody could have meant: read with the offset in
    force after the change and with the one before it.
    """

    earlier: datetime
    later: datetime


def resolve_local(text: str, zone: ZoneInfo, fold: int | None) -> datetime | Twice | Never:
    """The moment (UTC) that a wall time without offset means in `zone`.

    `fold` is the answer to the question that `Twice` puts: 0 the earlier, 1 the later, None
    not answered yet. It changes nothing for a time that happens once; no answer makes a time
    exist that never was. Raises Unreadable, also for a text with an offset.
    """
    found = LOCAL.fullmatch(text.strip())
    if found is None:
        raise Unreadable(text)
    wall = _wall(found, text)
    before, after = (_utc(wall.replace(tzinfo=zone, fold=one), text) for one in (0, 1))
    if before == after:
        return before
    if before > after:
        return Never(earlier=after, later=before)
    if fold is None:
        return Twice(earlier=before, later=after)
    return after if fold else before


def read_moment(text: str) -> tuple[datetime, int]:
    """The moment (UTC, the fraction of a second cut) and its offset in minutes east of UTC.

    Takes RFC 3339 and ISO 8601 with any offset, seconds optional. Raises Unreadable or
    OffsetMissing.
    """
    found = MOMENT.fullmatch(text.strip())
    if found is None:
        raise Unreadable(text)
    wall = _wall(found, text)
    if found["offset"] is None:
        raise OffsetMissing(text)
    minutes = _minutes(found["offset"], text)
    return _utc(wall.replace(tzinfo=timezone(timedelta(minutes=minutes))), text), minutes


def utc_text(moment: datetime) -> str:
    """`2027-01-05T08:00:00Z`; ValueError for a moment without zone or with a fraction."""
    if moment.tzinfo is None:
        raise ValueError("a moment must carry a time zone")
    if moment.microsecond:
        raise ValueError("a moment is kept in whole seconds")
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")


def parse_utc(text: str) -> datetime:
    """Back from exactly the form of `utc_text`; raises Unreadable for any other."""
    found = MOMENT.fullmatch(text)
    moment = _utc(_wall(found, text).replace(tzinfo=UTC), text) if found else None
    if moment is None or utc_text(moment) != text:
        raise Unreadable(text)
    return moment


def elapsed_text(span: timedelta) -> str:
    """Elapsed hours and minutes, `71:40`; seconds only where there are any, `72:00:01`.

    Hours are never turned into days. A negative span is written `-1:20`; a fraction of a
    second is cut.
    """
    seconds = abs(span) // timedelta(seconds=1)
    sign = "-" if span < timedelta(0) and seconds else ""
    text = f"{sign}{seconds // 3600}:{seconds // 60 % 60:02}"
    return f"{text}:{seconds % 60:02}" if seconds % 60 else text


def local_text(moment: datetime, zone: ZoneInfo) -> str:
    """The moment as the clocks of `zone` show it, `Mon 29 Mar 2027 11:00 CEST`.

    Seconds are shown where there are any; a zone without a name of letters shows its offset.
    """
    local = moment.astimezone(zone)
    time = f"{local:%H:%M:%S}" if local.second else f"{local:%H:%M}"
    # Not %a and %b: they follow the language of the process.
    date = f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]} {local.year}"
    return f"{date} {time} {_zone_text(local)}"


def corrected(raw_at: datetime, clock_offset_ms: int) -> datetime:
    """A device's own stamp put right, whole seconds.

    `clock_offset_ms` is the service's clock minus the device's, so it is added: a device
    whose clock is slow has a positive offset.
    """
    return (raw_at + timedelta(milliseconds=clock_offset_ms)).replace(microsecond=0)


def _wall(found: re.Match[str], text: str) -> datetime:
    try:
        return datetime.fromisoformat(
            f"{found['date']}T{found['minute']}:{found['second'] or '00'}"
        )
    except ValueError as error:
        raise Unreadable(text) from error


def _utc(moment: datetime, text: str) -> datetime:
    try:
        return moment.astimezone(UTC)
    except OverflowError as error:
        raise Unreadable(text) from error


def _minutes(offset: str, text: str) -> int:
    if offset in "Zz":
        return 0
    hours, minutes = int(offset[1:3]), int(offset[-2:])
    if hours > 23 or minutes > 59:
        raise Unreadable(text)
    return (hours * 60 + minutes) * (-1 if offset[0] == "-" else 1)


def _zone_text(local: datetime) -> str:
    name = local.tzname() or ""
    return name if name.isalpha() else f"UTC{local.isoformat(timespec='seconds')[19:]}"
