"""Risk at single hours for many records: in batches of like records, as that is fastest."""

from collections.abc import Iterator, Sequence

import numpy as np

from protocols.carryover.chances import chances
from protocols.carryover.distributions import Floats
from protocols.carryover.inputs import Inputs
from protocols.carryover.parameters import Parameters

AT_ONCE = 256


def at_end(p: Parameters, records: Sequence[Inputs]) -> tuple[Floats, Floats]:
    """Risk in reach and on fish at the last hour of each record, in the order given.

    A batch goes on as long as its longest record, and looks across moves where one of them
    carries water; so those that are alike go together.
    """
    in_reach, on_fish = np.empty((2, len(records)))
    for those in _alike(records):
        some = [records[n] for n in those]
        ends = np.array([[each.end] for each in some])
        reach, fish = chances(p, some, ends)
        in_reach[those], on_fish[those] = reach[:, 0], fish[:, 0]
    return in_reach, on_fish


def _alike(records: Sequence[Inputs]) -> Iterator[list[int]]:
    """The places of the records, in batches."""
    order = sorted(range(len(records)), key=lambda n: (_wet(records[n]), records[n].end, n))
    return (order[n : n + AT_ONCE] for n in range(0, len(order), AT_ONCE))


def _wet(record: Inputs) -> bool:
    return any(stay.water_carried_ml > 0 for stay in record.stays[1:])
