"""Hours inside, outside and unknown, from readings. Gaps prove nothing."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from protocols.judged import Cover, Reading
from protocols.ruled import Range
from protocols.told import When

# Between readings at most so far apart the value is taken to be linear.
GAP_MOST = timedelta(hours=12)
SECOND = timedelta(seconds=1)
Bound = Decimal | None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A straight piece of the curve inside the span, values at its two ends."""

    begins: datetime
    ends: datetime
    first: Fraction
    last: Fraction

    @property
    def seconds(self) -> int:
        return (self.ends - self.begins) // SECOND


def cover(
    readings: Sequence[Reading], span: When, *, allowed: Range, max_gap: timedelta = GAP_MOST
) -> Cover:
    """How long the value was within `allowed` (both ends included) during `span`.

    `readings` are of one quantity in one container, by time; those outside the span help to
    draw the line at its ends. Whole seconds; a part of a second counts as outside.
    """
    return _cover(readings, span, allowed.least, allowed.most, max_gap)


def hours_below(readings: Sequence[Reading], span: When, bound: Decimal) -> Cover:
    """The same with only a least value: `outside` is how long it was below `bound`."""
    return _cover(readings, span, bound, None, GAP_MOST)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a span during which the value was `inside` or `outside`, or is `unknown`."""

    begins: datetime
    ends: datetime
    state: str


def stretches(
    readings: Sequence[Reading], span: When, *, allowed: Range, max_gap: timedelta = GAP_MOST
) -> tuple[Stretch, ...]:
    """The span cut where the value crosses a bound, and where gaps prove nothing.

    Together they are the span, in order; to draw what `cover` counts.
    """
    found: list[Stretch] = []
    now = span.earliest
    for piece in _pieces(readings, span, max_gap):
        _append(found, now, piece.begins, "unknown")
        for begins, ends, middle in _cut(piece, allowed):
            inside = allowed.least <= middle <= allowed.most
            _append(found, begins, ends, "inside" if inside else "outside")
        now = piece.ends
    _append(found, now, span.latest, "unknown")
    return tuple(found)


def _cut(piece: _Piece, allowed: Range) -> Iterator[tuple[datetime, datetime, Fraction]]:
    """The piece between the bounds it crosses, each part with its value in the middle."""
    rise = piece.last - piece.first
    shares = {Fraction(0), Fraction(1)}
    for bound in (Fraction(allowed.least), Fraction(allowed.most)):
        if rise and 0 < (share := (bound - piece.first) / rise) < 1:
            shares.add(share)
    for low, high in pairwise(sorted(shares)):
        begins = piece.begins + int(low * piece.seconds) * SECOND
        ends = piece.begins + int(high * piece.seconds) * SECOND
        yield begins, ends, piece.first + rise * (low + high) / 2


def _append(found: list[Stretch], begins: datetime, ends: datetime, state: str) -> None:
    if begins >= ends:
        return
    if found and found[-1].state == state and found[-1].ends == begins:
        found[-1] = Stretch(found[-1].begins, ends, state)
    else:
        found.append(Stretch(begins, ends, state))


def reached_above(
    readings: Sequence[Reading], span: When, bound: Decimal, more_than: timedelta
) -> datetime | None:
    """The reading by which the value had been above `bound` for longer than `more_than`.

    It is the time of the reading that shows it, not the moment the line crosses, as nobody
    could have known before. None if no reading during `span` shows it.
    """
    above, most = Fraction(0), more_than // SECOND
    during = [one for one in readings if one.at <= span.latest]
    for piece in _pieces(during, span, GAP_MOST):
        above += piece.seconds - _inside(piece, None, bound)
        if above > most:
            return piece.ends
    return None


def _cover(
    readings: Sequence[Reading], span: When, least: Bound, most: Bound, max_gap: timedelta
) -> Cover:
    known, inside = 0, Fraction(0)
    for piece in _pieces(readings, span, max_gap):
        known += piece.seconds
        inside += _inside(piece, least, most)
    whole = (span.latest - span.earliest) // SECOND
    return Cover(
        inside=timedelta(seconds=int(inside)),
        outside=timedelta(seconds=known - int(inside)),
        unknown=timedelta(seconds=whole - known),
    )


def _pieces(readings: Sequence[Reading], span: When, max_gap: timedelta) -> Iterator[_Piece]:
    first = max(bisect_left(readings, span.earliest, key=_at) - 1, 0)
    last = bisect_right(readings, span.latest, key=_at) + 1
    for one, two in pairwise(readings[first:last]):
        begins, ends = max(one.at, span.earliest), min(two.at, span.latest)
        if begins < ends and two.at - one.at <= max_gap:
            yield _Piece(begins, ends, _value_at(one, two, begins), _value_at(one, two, ends))


def _at(reading: Reading) -> datetime:
    return reading.at


def _value_at(one: Reading, two: Reading, moment: datetime) -> Fraction:
    low, high = Fraction(one.value), Fraction(two.value)
    return low + (high - low) * Fraction(
        (moment - one.at) // SECOND, (two.at - one.at) // SECOND
    )


def _inside(piece: _Piece, least: Bound, most: Bound) -> Fraction:
    """Seconds of the piece between the bounds."""
    low, high = sorted((piece.first, piece.last))
    floor = low if least is None else max(low, Fraction(least))
    ceiling = high if most is None else min(high, Fraction(most))
    if floor > ceiling:
        return Fraction(0)
    if low == high:
        return Fraction(piece.seconds)
    return piece.seconds * (ceiling - floor) / (high - low)
