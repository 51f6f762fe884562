"""Many records as arrays by hour: what the recursions of the model go over."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Self

import numpy as np
from numpy.typing import NDArray

from protocols.carryover import rates
from protocols.carryover.carrying import logs
from protocols.carryover.deaths import Deaths, deaths
from protocols.carryover.distributions import Floats, Ticks, ticks
from protocols.carryover.inputs import Inputs, whole_hour
from protocols.carryover.parameters import Parameters

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Hourly:
    """N records over hours 0 to T of the longest; shorter ones go on as they ended.

    Axes are record, hour unless said otherwise. Hour t is [t, t+1); events are those of t.
    """

    last: Whole  # by record: its own T
    trophont_age: Ticks  # development by hour t, in ticks
    tomont_age: Ticks
    tomont_rate: Floats
    drop: Floats  # chance per hour of a ripe trophont to drop
    hatch: Floats  # chance per hour of a ripe cyst to hatch
    infects: Floats  # hour, age of a theront, record: chance per hour
    viable: Floats  # chance of a cyst dropped at this hour
    stay_end: Whole  # hour at which that stay ends; NEVER for the last
    moved: NDArray[np.bool_]  # whether a stay begins at this hour, the first one not
    carried: Floats  # share of loose cysts and theronts that this hour's move takes along
    kept: Floats  # log of what the moves so far took along; see `carrying.py`
    loose: Floats
    wet: bool  # whether any record carries water
    exposed: Floats  # infections per hour from outside
    deaths: Deaths

    @property
    def hours(self) -> int:
        return int(self.moved.shape[1])

    def only(self, n: int) -> Self:
        """The arrays of one record alone."""
        one = slice(n, n + 1)
        parts = {
            each.name: getattr(self, each.name)[one]
            for each in fields(self)
            if each.name not in ("infects", "wet", "deaths")
        }
        infects, deaths = self.infects[..., one], self.deaths.only(n)
        return type(self)(**parts, infects=infects, wet=self.wet, deaths=deaths)


NEVER = 2**40


def hourly(p: Parameters, records: Sequence[Inputs]) -> Hourly:
    """The arrays of these records under one parameter set, built together."""
    last = np.array([each.end for each in records])
    hours = int(last.max()) + 1
    shape = (len(records), hours)
    stay_end = np.full(shape, NEVER)
    on, off = np.empty(shape), np.empty(shape)
    carried, moved = np.ones(shape), np.zeros(shape, bool)
    exposed, barren = np.zeros(shape), np.zeros(shape, bool)
    for n, record in enumerate(records):
        on[n], off[n] = record.lights_on_h, record.lights_off_h
        for k, now in enumerate(record.stays):
            span = slice(now.first, now.end if k < len(record.stays) - 1 else None)
            if now.lights_on_h is not None:
                on[n, span], off[n, span] = now.lights_on_h, now.lights_off_h
            if k in record.barren:
                barren[n, span] = True
        for left, entered in pairwise(record.stays):
            stay_end[n, left.first : left.end] = left.end
            moved[n, left.end] = True
            carried[n, left.end] = min(1.0, entered.water_carried_ml / 1000 / left.volume_l)
        for each in record.exposure:
            span = slice(whole_hour(each.start_h), whole_hour(each.end_h))
            exposed[n, span] += each.infections_per_h
    exposed[np.arange(hours) >= last[:, None]] = 0
    temperature = rates.within(_temperatures(records, hours))
    warm = rates.warmth(temperature)
    # A cyst dropped at the very end meets the water of the hour before.
    at_drop = np.take_along_axis(
        warm, np.minimum(np.arange(hours), np.maximum(last - 1, 0)[:, None]), 1
    )
    infects = rates.infection(p, warm)
    if barren.any():
        infects *= ~barren.T[:, None]
    begin = np.array([each.start_clock_h for each in records])
    clock = begin[:, None] + np.arange(float(hours))
    tomont_rate = rates.tomont_rate(p, temperature)
    drop, hatch = rates.gates(p, clock, on, off)
    kept, loose = logs(p, moved, carried)
    return Hourly(
        last=last,
        trophont_age=ticks(_before(rates.trophont_rate(p, temperature))),
        tomont_age=ticks(_before(tomont_rate)),
        tomont_rate=tomont_rate,
        drop=drop,
        hatch=hatch,
        infects=infects,
        viable=rates.viability(p, at_drop),
        stay_end=stay_end,
        moved=moved,
        carried=carried,
        kept=kept,
        loose=loose,
        wet=bool((carried * moved).any()),
        exposed=exposed,
        deaths=deaths(p, records, hours),
    )


def _temperatures(records: Sequence[Inputs], hours: int) -> Floats:
    """Degrees in the middle of each hour: linear between readings, constant outside."""
    middles = np.arange(hours) + 0.5
    rows = []
    for record in records:
        hour, celsius = zip(*record.temperature_c, strict=True)
        rows.append(np.interp(middles, hour, celsius))
    return np.array(rows)


def _before(rate: Floats) -> Floats:
    """What has been added up over the hours before each hour."""
    total = np.zeros_like(rate)
    np.cumsum(rate[:, :-1], axis=1, out=total[:, 1:])
    return total
