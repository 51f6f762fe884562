"""The clock that runs only while a measured quantity is in range."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from protocols.cover import cover
from protocols.judged import Reading
from protocols.library.values import Clock
from protocols.told import When

SECOND = timedelta(seconds=1)
NONE = timedelta(0)


@dataclass(frozen=True, slots=True)
class InRange:
    """Where the clock stands: hours that count, that were outside, that nobody knows.

    `counts_from` is the first moment in range since the last drop below, None before there is
    one; `restarts` how often a drop began it anew. `done_at` is the reading by which it was
    full, `needs_reading_by` the moment from which time counts no longer unless somebody
    measures again.
    """

    counted: timedelta
    outside: timedelta
    unknown: timedelta
    left: timedelta
    counts_from: datetime | None
    restarts: int
    done_at: datetime | None
    needs_reading_by: datetime | None
    newest: Reading | None


def in_range(
    readings: Sequence[Reading], rule: Clock, *, began: datetime, at: datetime
) -> InRange:
    """The clock of one course from `began` up to `at`.

    `readings` are of the rule's quantity in its unit, by time, of whichever container the
    animals were in. Between two of them at most `gap_most` apart the value is taken to be
    linear; longer gaps, and time after the newest reading, are unknown and never count. A
    reading below the range begins the count anew where the rule says so; one above only does
    not count. What was counted before `done_at` is not lost again by what came later.
    """
    known = [one for one in readings if began <= one.at <= at]
    begins, restarts, done_at = None, 0, None
    for run, dropped in _runs(known, rule):
        if done_at is None:
            done_at = _full(run, rule)
            lost = dropped and done_at is None
            restarts += lost
            begins = None if lost else run[0].at
    until = done_at or at
    span = When(begins or until, until)
    found = cover(known, span, allowed=rule.allowed, max_gap=rule.gap_most)
    newest = known[-1] if known else None
    running = newest is not None and done_at is None and rule.allowed.holds(newest.value)
    return InRange(
        counted=min(found.inside, rule.needed),
        outside=found.outside,
        unknown=found.unknown,
        left=max(rule.needed - found.inside, NONE),
        counts_from=begins,
        restarts=restarts,
        done_at=done_at,
        needs_reading_by=newest.at + rule.gap_most if newest and running else None,
        newest=newest,
    )


def _runs(readings: Sequence[Reading], rule: Clock) -> Iterator[tuple[Sequence[Reading], bool]]:
    """Readings from the first one in range to the next drop, and whether there was one."""
    start: int | None = None
    for place, one in enumerate(readings):
        low = one.value < rule.allowed.least
        if start is None and rule.allowed.holds(one.value):
            start = place
        elif start is not None and low and rule.restarts:
            yield readings[start:place], True
            start = None
    if start is not None:
        yield readings[start:], False


def _full(run: Sequence[Reading], rule: Clock) -> datetime | None:
    """The reading of a run by which the hours needed were counted."""
    total = NONE
    for one, two in pairwise(run):
        span = When(one.at, two.at)
        pair = cover([one, two], span, allowed=rule.allowed, max_gap=rule.gap_most)
        total += pair.inside
        if total >= rule.needed:
            return two.at
    return None
