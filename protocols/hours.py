"""Staffed hours of a site: a weekly pattern and exceptions by date, resolved to UTC spans.

Wall times follow the law of the place; what comes out are UTC spans. Both ends of a span are
staffed: somebody whose day ends at 20:00 still does what is planned for 20:00.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAY_MIN = 24 * 60
SECOND = timedelta(seconds=1)
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Span:
    """From one UTC moment to another, both included."""

    start: datetime
    end: datetime

    def holds(self, moment: datetime) -> bool:
        return self.start <= moment <= self.end

    @property
    def length(self) -> timedelta:
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Weekly:
    """Staffed every week: minutes after local midnight of `day` (0 = Monday).

    `to_min` beyond 1440 means that the shift runs into the next day.
    """

    day: int
    from_min: int
    to_min: int


@dataclass(frozen=True, slots=True)
class ExceptionalDay:
    """What holds on one date instead of the weekly pattern: a shift (minutes), or closed."""

    date: date
    why: str
    shift: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Hours:
    """One version of a site's staffed hours."""

    weekly: tuple[Weekly, ...] = ()
    exceptions: tuple[ExceptionalDay, ...] = ()

    def in_force(
        self, since: datetime, until: datetime
    ) -> Iterator[tuple[Span, "Hours | None"]]:
        yield Span(since, until), self

    def shifts_of(self, day: date) -> tuple[tuple[int, int], ...]:
        """Minutes from and to, after local midnight, of what begins on `day`."""
        special = [one for one in self.exceptions if one.date == day]
        if any(one.shift is None for one in special):
            return ()
        usual = [(one.from_min, one.to_min) for one in self.weekly if one.day == day.weekday()]
        return tuple(one.shift for one in special if one.shift) or tuple(usual)

    @property
    def closed_dates(self) -> frozenset[date]:
        return frozenset(one.date for one in self.exceptions if one.shift is None)


@dataclass(frozen=True, slots=True)
class HoursHistory:
    """Versions of staffed hours by the moment from which they are in force, oldest first.

    Before the first version nothing is known: every moment counts as staffed, so that a limit
    is planned at the limit and no call-out is asked for.
    """

    versions: tuple[tuple[datetime, Hours], ...] = ()

    def at(self, moment: datetime) -> Hours | None:
        """The version in force at `moment`; None where none is known."""
        known = [hours for begins, hours in self.versions if begins <= moment]
        return known[-1] if known else None

    def in_force(self, since: datetime, until: datetime) -> Iterator[tuple[Span, Hours | None]]:
        changes = sorted({begins for begins, _ in self.versions if since < begins <= until})
        starts = [since, *changes]
        ends = [change - SECOND for change in changes] + [until]
        for start, end in zip(starts, ends, strict=True):
            yield Span(start, end), self.at(start)


StaffedHours = Hours | HoursHistory


def spans(
    hours: StaffedHours, zone: ZoneInfo, since: datetime, until: datetime
) -> tuple[Span, ...]:
    """Staffed spans in UTC between two UTC moments, merged, in order, cut at both moments.

    A wall time that does not exist counts as the next one that does; one that exists twice as
    the earlier where a shift begins and the later where it ends.
    """
    return tuple(span for span in touching(hours, zone, since, until) if span.length)


def touching(
    hours: StaffedHours, zone: ZoneInfo, since: datetime, until: datetime
) -> tuple[Span, ...]:
    """As `spans`, with spans of no length where a shift only touches one of the two moments."""
    if until < since:
        return ()
    found: list[Span] = []
    for window, version in hours.in_force(since, until):
        found += [window] if version is None else _within(version, zone, window)
    return _merged(found)


def wall(day: date, minutes: int, zone: ZoneInfo, *, late: bool = False) -> datetime:
    """UTC of a local wall time, `minutes` after midnight of `day` (may run past the day).

    Twice existing: the earlier, or with `late` the later. Never existing: the moment at which
    the clocks were set forward, which is the next wall time that exists.
    """
    local = datetime.combine(day, time(), tzinfo=zone) + timedelta(minutes=minutes)
    first, second = local.replace(fold=0), local.replace(fold=1)
    if (first.utcoffset() or timedelta()) < (second.utcoffset() or timedelta()):
        return _clock_change(second.astimezone(UTC), first.astimezone(UTC), zone)
    return (second if late else first).astimezone(UTC)


def _clock_change(before: datetime, after: datetime, zone: ZoneInfo) -> datetime:
    """The first moment with the later offset, between one that lacks it and one that has it."""
    offset = after.astimezone(zone).utcoffset()
    while after - before > SECOND:
        middle = before + timedelta(seconds=(after - before) // SECOND // 2)
        if middle.astimezone(zone).utcoffset() == offset:
            after = middle
        else:
            before = middle
    return after


def _within(hours: Hours, zone: ZoneInfo, window: Span) -> list[Span]:
    day = window.start.astimezone(zone).date() - DAY  # its night shift may still be on
    last = window.end.astimezone(zone).date()
    closed = hours.closed_dates
    found: list[Span] = []
    while day <= last:
        # What runs into a closed date is cut off: closed means that nobody is there.
        most = DAY_MIN if day + DAY in closed else 2 * DAY_MIN
        found += [_shift(zone, day, *one, most) for one in hours.shifts_of(day)]
        day += DAY
    return [
        Span(max(one.start, window.start), min(one.end, window.end))
        for one in found
        if one.start < one.end and one.start <= window.end and one.end >= window.start
    ]


def _shift(zone: ZoneInfo, day: date, from_min: int, to_min: int, most: int) -> Span:
    return Span(wall(day, from_min, zone), wall(day, min(to_min, most), zone, late=True))


def _merged(found: list[Span]) -> tuple[Span, ...]:
    merged: list[Span] = []
    for span in sorted(found, key=lambda one: (one.start, one.end)):
        if merged and span.start <= merged[-1].end + SECOND:
            merged[-1] = Span(merged[-1].start, max(merged[-1].end, span.end))
        else:
            merged.append(span)
    return tuple(merged)
