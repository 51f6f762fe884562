"""assess(): everything a person needs for a decision, for one record or many at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle
from typing import Any

from protocols.carryover.actions import ACTIONS, Action, after
from protocols.carryover.batches import at_end
from protocols.carryover.causes import leading, variants
from protocols.carryover.counts import Counts, counts
from protocols.carryover.distributions import Floats
from protocols.carryover.flags import Flag, flags
from protocols.carryover.inputs import Inputs
from protocols.carryover.parameters import CENTRAL, SETS, VERSION
from protocols.carryover.risk import as_inputs


@dataclass(frozen=True, slots=True)
class Band:
    """A chance under the three sets. They are not always in this order."""

    low: float
    central: float
    high: float

    @property
    def smallest(self) -> float:
        return min(self.low, self.central, self.high)

    @property
    def largest(self) -> float:
        return max(self.low, self.central, self.high)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What an action would leave on the animals, at the hour at which its course ends."""

    name: str
    action: Action
    hour: int
    on_fish: Band


@dataclass(frozen=True, slots=True)
class Assessment:
    """The carry-over at the end of a record, T hours after placement."""

    hour: int
    on_fish: Band  # the headline: left if the animals went into a ready container now
    in_reach: Band  # on them, or in the container they are in
    counts: Counts  # expected numbers, central set
    leading_cause: str | None  # by `causes.py`, central set
    flags: tuple[Flag, ...]
    outlooks: tuple[Outlook, ...]
    version: str = VERSION


def assess(inputs: Inputs | Mapping[str, Any]) -> Assessment:
    """Band, expected numbers, leading cause, flags and actions of one record, at its end.

    Raises ValueError with name, value and allowed range of what cannot be.
    """
    return assess_many([as_inputs(inputs)])[0]


def assess_many(records: Sequence[Inputs]) -> list[Assessment]:
    """The same for many records that were checked already, computed together."""
    then = [after(record, each) for record in records for each in ACTIONS.values()]
    without = [variants(record) for record in records]
    more = [each for some in without for each in some.values()]
    # All of one set together: a run over all hours costs little more for many records.
    ahead = [*records, *then]
    risks = {name: at_end(SETS[name], ahead) for name in ("low", "high")}
    reach, fish = at_end(CENTRAL, [*ahead, *more])
    risks["central"] = reach[: len(ahead)], fish[: len(ahead)]
    in_reach, on_fish = (
        _bands({name: both[k] for name, both in risks.items()}) for k in (0, 1)
    )
    outlooks = _outlooks(then, on_fish[len(records) :])
    causes = _causes(without, fish[len(ahead) :])
    return [
        Assessment(
            hour=record.end,
            on_fish=on_fish[n],
            in_reach=in_reach[n],
            counts=counts(record),
            leading_cause=causes[n],
            flags=flags(record),
            outlooks=outlooks[n],
        )
        for n, record in enumerate(records)
    ]


def _bands(risks: Mapping[str, Floats]) -> list[Band]:
    """Bands of many records, from what each set says of all of them."""
    names = list(risks)
    rows = zip(*risks.values(), strict=True)
    return [Band(**dict(zip(names, map(float, row), strict=True))) for row in rows]


def _outlooks(then: Sequence[Inputs], bands: Sequence[Band]) -> list[tuple[Outlook, ...]]:
    """Those of each record, which lie one after the other."""
    every = [
        Outlook(name, action, gone.end, band)
        for (name, action), gone, band in zip(cycle(ACTIONS.items()), then, bands, strict=False)
    ]
    each = len(ACTIONS)
    return [tuple(every[n : n + each]) for n in range(0, len(every), each)]


def _causes(without: Sequence[Mapping[str, Inputs]], fish: Floats) -> list[str | None]:
    risks = iter(fish)
    return [leading({name: float(next(risks)) for name in some}) for some in without]
