"""Figures of what is computed over arrays, against limits measured in the same run."""

import time
from collections.abc import Callable, Iterator
from importlib import import_module
from itertools import pairwise

import gsw
import numpy as np

from protocols.carryover.batches import AT_ONCE, at_end
from protocols.carryover.inputs import Death, Inputs, Records, Stay
from protocols.carryover.parameters import CENTRAL
from protocols.tracing import Contacts, reached
from protocols.water import density_kg_m3
from protocols.water.seawater import ABSOLUTE
from stock.measuring import Figure

LAST_H = 13 * 24.0
RUNS = 10_000
TIMES = 15
# A seawater path may cost a quarter more than the library under it.
GSW_GOAL = 0.8
TRACED, TRACED_NODES, TRACED_GOAL_S = 1_000_000, 20_000, 2.0


def numbers() -> Iterator[Figure]:
    """Carry-over by the second and against its simulation; sea water against bare gsw."""
    records = _records(AT_ONCE)
    per_second = AT_ONCE / _best(lambda: at_end(CENTRAL, records))
    yield Figure("carry-over of 13 days, in batches of 256", per_second, 1000.0, "1/s")
    yield _against_simulation(records, per_second)
    yield _against_gsw()
    yield _traced()


def _records(number: int) -> Records:
    """Series as a floor makes them: stays of about 72 h by day, warmth read twice a day."""
    draw = np.random.default_rng(1)
    return [_record(draw) for _ in range(number)]


def _record(draw: np.random.Generator) -> Inputs:
    ends = [0.0, *map(float, np.cumsum(draw.integers(66, 74, 4))), LAST_H]
    deaths = (Death(float(draw.integers(10, 300)), 8.0),) if draw.random() < 0.3 else ()
    return Inputs(
        fish=10,
        parasites_per_fish=5.0,
        start_clock_h=float(draw.uniform(8, 16)),
        lights_on_h=7.0,
        lights_off_h=19.0,
        temperature_c=tuple(
            (hour, float(25 + draw.normal(0, 0.7))) for hour in np.arange(0.0, LAST_H, 12)
        ),
        stays=tuple(Stay(began, ended, 20.0) for began, ended in pairwise(ends)),
        deaths=deaths,
    )


def _against_simulation(records: Records, per_second: float) -> Figure:
    """How often as fast as playing every parasite 10,000 times, all runs in one array.

    The simulation belongs to the tests, so this is measured in a checkout only.
    """
    played = import_module("tests.protocols.carried_by_chance").Played
    some = iter(records)

    def play() -> None:
        played(CENTRAL, next(some), RUNS, 1).chances([int(LAST_H)])

    what = "carry-over against its vectorised simulation of 10,000 runs"
    return Figure(what, per_second * _best(play), 300.0, "times")


def _against_gsw() -> Figure:
    """Arrays of density by our path, domain checks and all, against the bare library."""
    draw = np.random.default_rng(2)
    salinity, celsius = draw.uniform(25, 40, 100_000), draw.uniform(15, 32, 100_000)

    def bare() -> None:
        gsw.rho_t_exact(salinity * ABSOLUTE, celsius, 0.0)

    def ours() -> None:
        density_kg_m3(salinity=salinity, temperature_c=celsius)

    return Figure(
        "density of sea water against bare gsw", _best(bare) / _best(ours), GSW_GOAL, ""
    )


def _best(work: Callable[[], object], times: int = TIMES) -> float:
    """Seconds of the processor for the quickest of a few times, after one to warm up."""
    work()
    took = []
    for _ in range(times):
        began = time.process_time()
        work()
        took.append(time.process_time() - began)
    return min(took)


def _traced() -> Figure:
    """Seconds for everything that one thing reached through a million contacts of 116 days."""
    draw = np.random.default_rng(1)
    since = draw.integers(0, 10_000_000, TRACED)
    begin, end = (draw.integers(0, TRACED_NODES, TRACED) for _ in range(2))
    until = since + draw.integers(0, 3 * 86_400, TRACED)
    grade = draw.integers(0, 3, TRACED).astype(np.int8)
    contacts = Contacts(begin, end, since, until, grade)
    carriers = np.arange(TRACED_NODES) % 10 == 0
    took = _best(
        lambda: reached(contacts, {0: 0}, nodes=TRACED_NODES, carriers=carriers), times=3
    )
    return Figure("a trace of 1,000,000 contacts", took, TRACED_GOAL_S, "s")
