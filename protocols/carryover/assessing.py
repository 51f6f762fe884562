"""assess(): everything a person needs for a decision, for one record or many at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

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
    reach, fish = _bands(records)
    outlooks = _outlooks(records)
    causes = _causes(records)
    return [
        Assessment(
            hour=record.end,
            on_fish=fish[n],
            in_reach=reach[n],
            counts=counts(record),
            leading_cause=causes[n],
            flags=flags(record),
            outlooks=outlooks[n],
        )
        for n, record in enumerate(records)
    ]


def _bands(records: Sequence[Inputs]) -> tuple[list[Band], list[Band]]:
    """In reach and on fish, at the end of each record."""
    found = [at_end(each, records) for each in SETS.values()]
    reach, fish = (np.stack(each, axis=1) for each in zip(*found, strict=True))
    return _as_bands(reach), _as_bands(fish)


def _as_bands(sets: Floats) -> list[Band]:
    return [Band(*map(float, row)) for row in sets]


def _outlooks(records: Sequence[Inputs]) -> list[tuple[Outlook, ...]]:
    then = [after(record, each) for record in records for each in ACTIONS.values()]
    _, bands = _bands(then)
    ends = iter(zip(then, bands, strict=True))
    return [
        tuple(
            Outlook(name, action, gone.end, band)
            for (name, action), (gone, band) in zip(ACTIONS.items(), ends, strict=False)
        )
        for _ in records
    ]


def _causes(records: Sequence[Inputs]) -> list[str | None]:
    by_record = [variants(record) for record in records]
    _, fish = at_end(CENTRAL, [each for some in by_record for each in some.values()])
    risks = iter(fish)
    return [leading({name: float(next(risks)) for name in some}) for some in by_record]
