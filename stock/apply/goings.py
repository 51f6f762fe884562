"""How animals get from where the record has them to where they are by all that was told.

Rows of `transfer` are only ever added: what was told otherwise goes back the way it came.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.animals import Animals, Spot
from protocols.animals.kept import one_way
from stock.models import Balance, Fact, Transfer
from stock.refusals import CannotApply, refuse

Sums = Mapping[tuple[Spot, Spot], int]


class Overdrawn(CannotApply):
    """More left a place than ever came there. `by` are the reports by which they left it."""

    def __init__(self, spot: Spot, by: frozenset[UUID]) -> None:
        self.by = by
        code = {"alive": "too_few_alive", "received": "more_than_received"}.get(spot.place)
        text = "There are not so many left to take from."
        super().__init__(refuse(code or "contradicts_record", text))


@dataclass(frozen=True, slots=True)
class Step:
    """One row of `transfer` to be written."""

    fact: UUID
    begin: Spot
    end: Spot
    count: int
    at: datetime


Plan = Sequence[Step]


def plan(fact: Fact, now: Collection[UUID], found: Animals) -> Plan:
    """The steps to take, in an order in which no place is overdrawn. Two queries.

    `now` are the reports that are taken now, `fact` the one that brings it about.
    Raises Overdrawn where there is no such order.
    """
    more = _otherwise(found.sums(), _sums_on_record(found.begun.keys()))
    steps = [*_told_now(found, now, more), *_put_right(fact, found, more)]
    balances = _balances(steps)
    _refuse_overdrawn(steps, balances, found)
    return _in_possible_order(steps, balances)


def _otherwise(wanted: Sums, had: Sums) -> dict[tuple[Spot, Spot], int]:
    """How many more have to go from one spot to the other; fewer than none the other way."""
    every = {pair: wanted.get(pair, 0) - had.get(pair, 0) for pair in {**wanted, **had}}
    return {pair: count for pair, count in every.items() if count}


def _told_now(
    found: Animals, now: Collection[UUID], more: dict[tuple[Spot, Spot], int]
) -> Iterator[Step]:
    """The goings of the reports that are taken now, as they were told."""
    for one in found.gone:
        pair, count = one_way(one.begin, one.end, one.count)
        if one.by in now and _is_part_of(count, more.get(pair, 0)):
            more[pair] -= count
            yield Step(one.by, one.begin, one.end, one.count, one.at)


def _is_part_of(count: int, whole: int) -> bool:
    """Whether so many go the same way as all of these, and are no more than they are."""
    return 0 < count <= whole or whole <= count < 0


def _put_right(
    fact: Fact, found: Animals, more: Mapping[tuple[Spot, Spot], int]
) -> Iterator[Step]:
    """What went otherwise than the record has it, by this fact."""
    at = {one_way(one.begin, one.end, 1)[0]: one.at for one in found.gone}
    for (begin, end), count in more.items():
        when = at.get((begin, end), fact.performed_at)
        if count > 0:
            yield Step(fact.uid, begin, end, count, when)
        elif count < 0:
            yield Step(fact.uid, end, begin, -count, when)


def _sums_on_record(batches: Iterable[UUID]) -> dict[tuple[Spot, Spot], int]:
    every = list(batches)
    rows = Transfer.objects.filter(Q(from_holder__in=every) | Q(to_holder__in=every))
    found: dict[tuple[Spot, Spot], int] = defaultdict(int)
    names = ("from_holder", "from_place", "to_holder", "to_place", "count")
    for begin, left, end, reached, count in rows.values_list(*names):
        pair, more = one_way(Spot(begin, left), Spot(end, reached), count)
        found[pair] += more
    return found


def _balances(steps: Plan) -> dict[Spot, int]:
    holders = {spot.holder for step in steps for spot in (step.begin, step.end)}
    rows = Balance.objects.filter(holder__in=holders).values_list("holder", "place", "n")
    found: dict[Spot, int] = defaultdict(int)
    found.update((Spot(holder, place), n) for holder, place, n in rows)
    return found


def _refuse_overdrawn(steps: Plan, balances: Mapping[Spot, int], found: Animals) -> None:
    after = dict(balances)
    for step in steps:
        after[step.begin] = after.get(step.begin, 0) - step.count
        after[step.end] = after.get(step.end, 0) + step.count
    for spot, n in after.items():
        if n < 0 and spot.place != "outside":
            raise Overdrawn(spot, frozenset(one.by for one in found.gone if one.begin == spot))


def _in_possible_order(steps: Plan, balances: dict[Spot, int]) -> Plan:
    """Each step once there are so many to take."""
    ordered, left = [], list(steps)
    while left:
        step = next((one for one in left if _is_possible(one, balances)), None)
        if step is None:
            raise Overdrawn(left[0].begin, frozenset())
        left.remove(step)
        ordered.append(step)
        balances[step.begin] -= step.count
        balances[step.end] += step.count
    return ordered


def _is_possible(step: Step, balances: Mapping[Spot, int]) -> bool:
    return step.begin.place == "outside" or balances[step.begin] >= step.count


def take(steps: Plan) -> None:
    """Write the rows."""
    n: dict[UUID, int] = defaultdict(int)
    rows = []
    for step in steps:
        rows.append(
            Transfer(
                fact=step.fact,
                n=n[step.fact],
                from_holder=step.begin.holder,
                from_place=step.begin.place,
                to_holder=step.end.holder,
                to_place=step.end.place,
                count=step.count,
                performed_at=step.at,
            )
        )
        n[step.fact] += 1
    Transfer.objects.bulk_create(rows)
