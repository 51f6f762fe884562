"""Carry-over against a simulation that plays every parasite by itself (`carried_by_chance.py`).

Of 200 random records, 10,000 runs and two outputs each, 4 of 400 may differ by more than three
standard errors and none by more than 4.5. Here the first 10 records are played 2,000 times; all
of it with FILLMARK_CARRY_OVER_PLAYED=200, which takes a few minutes.
"""

import os

import numpy as np

from protocols.carryover.batches import at_end
from protocols.carryover.parameters import CENTRAL
from protocols.carryover.reading_inputs import read_inputs
from tests.protocols.carried import random_record
from tests.protocols.carried_by_chance import Played

PLAYED = int(os.environ.get("FILLMARK_CARRY_OVER_PLAYED", "10"))
RUNS = 10_000 if PLAYED >= 200 else 2_000
PART = 1_000  # so many runs at once fit into memory also where parasites multiply


def played(record, seed):
    """Shares of the runs with something left at the end, in reach and on fish."""
    parts = [
        Played(CENTRAL, record, PART, seed=1_000 * seed + n).chances([record.end])
        for n in range(RUNS // PART)
    ]
    return np.mean(parts, axis=0)[:, 0]


def test_chances_are_those_of_individuals_played_many_times():
    records = [read_inputs(random_record(seed)) for seed in range(PLAYED)]

    chance = np.stack(at_end(CENTRAL, records), axis=1)
    share = np.array([played(record, n) for n, record in enumerate(records)])

    error = np.maximum(np.sqrt(chance * (1 - chance) / RUNS), 1 / RUNS)
    off = np.abs(share - chance) / error
    assert (off > 3).sum() <= max(1, PLAYED * 2 // 100)
    assert off.max() < 4.5
