"""Do all sums close? Every animal is in exactly one place, and every table says the same."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet, Sum

from stock.models import (
    Balance,
    Batch,
    Dispatch,
    Line,
    LineCount,
    Loss,
    Missing,
    Origin,
    Transfer,
)
from stock.models.counts import FATES

OUTSIDE = "outside"
# Who came back or arrived elsewhere is placed anew, as another batch; that it left stays true.
PLACED_ANEW = ("on_the_way", "returned")
Places = Mapping[UUID, Mapping[str, int]]


@dataclass(frozen=True, slots=True)
class WrongSum:
    """Two numbers about one holder that must be equal and are not."""

    holder: UUID
    what: str
    said: int
    counted: int


@dataclass(frozen=True, slots=True)
class Moved:
    """What all transfers say: what is at each place, and what went from holder to holder."""

    at: Places
    came: Mapping[UUID, int]
    passed_on: Places


def wrong_sums() -> list[WrongSum]:
    """Every sum that does not close, in the whole database; none if all is well.

    A dozen queries, whatever the number of animals.
    """
    moved = _moved()
    return [*_balances(moved), *_lines(moved), *_batches(moved), *_rows(moved)]


def _moved() -> Moved:
    at: dict[UUID, Counter[str]] = {}
    came: Counter[UUID] = Counter()
    passed_on: dict[UUID, Counter[str]] = {}
    names = ("from_holder", "from_place", "to_holder", "to_place")
    for begin, left, end, reached, n in Transfer.objects.values_list(*names).annotate(
        n=Sum("count")
    ):
        at.setdefault(begin, Counter())[left] -= n
        at.setdefault(end, Counter())[reached] += n
        if begin != end:
            passed_on.setdefault(begin, Counter())[left] += n
            came[end] += n
    return Moved(at, came, passed_on)


def _balances(moved: Moved) -> Iterator[WrongSum]:
    """The balance is what the transfers add up to, place by place."""
    kept = {
        (holder, place): n
        for holder, place, n in Balance.objects.values_list("holder", "place", "n")
    }
    sums = {(holder, place): n for holder in moved.at for place, n in moved.at[holder].items()}
    for holder, place in sorted(kept.keys() | sums.keys()):
        said, counted = kept.get((holder, place), 0), sums.get((holder, place), 0)
        yield from _equal(holder, place, said, counted)


def _lines(moved: Moved) -> Iterator[WrongSum]:
    """Received = dead on arrival + placed + left in the bags; and as it was counted."""
    counted = _by("line", LineCount.objects, "received")
    placed = _by("line", Origin.objects, "count")
    for line in Line.objects.order_by("uid").values_list("uid", flat=True):
        places = moved.at.get(line, {})
        received = -places.get(OUTSIDE, 0)
        yield from _equal(line, "received", counted.get(line, 0), received)
        yield from _equal(line, "placed", placed.get(line, 0), _passed(moved, line))
        yield from _equal(line, "line", received, _here(places) + placed.get(line, 0))


def _batches(moved: Moved) -> Iterator[WrongSum]:
    """Placed + born here + come from other batches = all its places + passed on to others."""
    placed = _by("batch", Origin.objects, "count")
    lines = set(Line.objects.values_list("uid", flat=True))
    from_lines = Counter[UUID]()
    pairs = Transfer.objects.exclude(from_holder=F("to_holder"))
    for begin, end, n in pairs.values_list("from_holder", "to_holder").annotate(n=Sum("count")):
        from_lines[end] += n if begin in lines else 0
    for batch in Batch.objects.order_by("uid").values_list("uid", flat=True):
        places = moved.at.get(batch, {})
        born, came = -places.get(OUTSIDE, 0), moved.came.get(batch, 0) - from_lines[batch]
        yield from _equal(batch, "placed", placed.get(batch, 0), from_lines[batch])
        came_in = placed.get(batch, 0) + born + came
        yield from _equal(batch, "batch", came_in, _here(places) + _passed(moved, batch))


def _rows(moved: Moved) -> Iterator[WrongSum]:
    """What says why animals are gone counts as many as are gone."""
    gone = Dispatch.objects.annotate(out=F("count") - F("returned"))
    kept = {
        **{fate: _by("batch", Loss.objects.filter(fate=fate), "count") for fate in FATES},
        "unaccounted": _by("batch", Missing.objects, "open"),
        "sold": _by("batch", gone.filter(to_site=None), "out"),
        "on_the_way": _by("batch", gone.exclude(to_site=None), "out"),
        "returned": _by("batch", Dispatch.objects, "returned"),
    }
    for place, said in kept.items():
        for batch in sorted({*said, *Batch.objects.values_list("uid", flat=True)}):
            there = moved.at.get(batch, {}).get(place, 0)
            if place in PLACED_ANEW:
                there += moved.passed_on.get(batch, {}).get(place, 0)
            yield from _equal(batch, place, said.get(batch, 0), there)


def _by(holder: str, rows: Any, count: str) -> dict[UUID, int]:
    found: QuerySet[Any] = rows.order_by().values_list(holder).annotate(n=Sum(count))
    return dict(found)


def _here(places: Mapping[str, int]) -> int:
    return sum(n for place, n in places.items() if place != OUTSIDE)


def _passed(moved: Moved, holder: UUID) -> int:
    return sum(moved.passed_on.get(holder, {}).values())


def _equal(holder: UUID, what: str, said: int, counted: int) -> Iterator[WrongSum]:
    if said != counted:
        yield WrongSum(holder, what, said, counted)
