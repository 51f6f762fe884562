"""Expected numbers of trophonts, cysts and theronts: the same steps forward, with means."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from protocols.carryover.carrying import together
from protocols.carryover.chances import brought, unready, unspent
from protocols.carryover.distributions import Floats, Table, tables
from protocols.carryover.hourly import Hourly, hourly
from protocols.carryover.inputs import Inputs, whole_hour
from protocols.carryover.parameters import CENTRAL, Parameters, parameters
from protocols.carryover.rates import THERONT_HOURS
from protocols.carryover.risk import as_inputs


@dataclass(frozen=True, slots=True)
class Counts:
    """Expected numbers at hours 0 to T, after the events of the hour; and sums by stay."""

    trophonts: Floats  # on living animals
    cysts: Floats  # viable, in the container that the animals are in
    theronts: Floats
    infections: Floats  # by stay: theronts that became trophonts
    drops: Floats  # by stay: viable cysts
    hatches: Floats  # by stay: cysts that released theronts


def counts(
    inputs: Inputs | Mapping[str, Any], parameter_set: str | Parameters = CENTRAL
) -> Counts:
    """Expected numbers of one record by hour. Raises ValueError as `risk` does."""
    record, p = as_inputs(inputs), parameters(parameter_set)
    forward = _Forward(p, record)
    for t in range(record.end + 1):
        forward.hour(t)
    return forward.counted()


class _Fish:
    """Trophonts: whoever is infected ripens, or goes with a carcass, at all later hours."""

    def __init__(self, arrays: Hourly) -> None:
        deaths = arrays.deaths
        self.age = arrays.trophont_age[0]
        self.stays_on, self.gets_off = deaths.stays_on[0], deaths.gets_off[0]
        self.unripe_off, self.survives = deaths.unripe_off[0], deaths.survives[0]
        self.unripe, self.ripens, self.off = (np.zeros(len(self.age)) for _ in range(3))

    def infect(self, s: int, number: float, table: Table) -> None:
        """So many are on the animals at hour s, before its deaths."""
        self.off[s] += number * self.unripe_off[s]
        left = table.left(self.age[s:] - self.age[s])
        alive = number * self.stays_on[s] * self.survives[s:] / self.survives[s]
        self.unripe[s:] += alive * left
        self.ripens[s + 1 :] -= alive[:-1] * np.diff(left)
        dying = alive[1:] / self.stays_on[s + 1 :] * self.unripe_off[s + 1 :]
        self.off[s + 1 :] += dying * left[1:]


class _Floor:
    """Cysts: what drops ripens, as long as it is with the animals, at all later hours."""

    def __init__(self, arrays: Hourly, table: Table) -> None:
        self.arrays, self.table = arrays, table
        self.age = arrays.tomont_age[0]
        self.unripe, self.ripens = np.zeros(len(self.age)), np.zeros(len(self.age))

    def drop(self, u: int, number: float) -> None:
        """So many viable cysts drop at hour u, after its move."""
        here = number * self._together(u)
        left = self.table.left(self.age[u:] - self.age[u])
        self.unripe[u:] += here * left
        self.ripens[u + 1 :] -= here[:-1] * np.diff(left)

    def _together(self, u: int) -> Floats:
        arrays = self.arrays
        if arrays.wet:
            there = together(arrays.kept[:, u:], arrays.loose[:, u : u + 1])
            return np.asarray(there[0, 0])
        there = np.arange(u, arrays.hours) < arrays.stay_end[0, u]
        return np.asarray(there, np.float64)

    def bring(self, hour: int, number: float, left: Floats) -> None:
        """So many came with gear; `left` of them are to hatch at the hours from now on."""
        end = hour + len(left)
        here = np.arange(hour, end) < self.arrays.stay_end[0, hour]
        self.unripe[hour:end] += number * left * here
        self.ripens[hour + 1 : end] -= number * np.diff(left)


class _Forward:
    """One record, hour after hour."""

    def __init__(self, p: Parameters, record: Inputs) -> None:
        self.p, self.record = p, record
        self.arrays = hourly(p, [record])
        self.fish = _Fish(self.arrays)
        self.floor = _Floor(self.arrays, tables(p).cyst)
        self.ripe, self.ripe_cysts, self.infected, self.fell = 0.0, 0.0, 0.0, 0.0
        self.theronts = np.zeros(THERONT_HOURS)
        self.by_hour = np.zeros((3, self.arrays.hours))
        self.infections, self.drops, self.hatches = np.zeros((3, self.arrays.hours))

    def hour(self, t: int) -> None:
        self._arrive(t)
        self._events(t)
        self.by_hour[:, t] = (
            self.fish.unripe[t] + self.ripe,
            self.floor.unripe[t] + self.ripe_cysts,
            self.theronts.sum(),
        )
        self._during(t)

    def _arrive(self, t: int) -> None:
        """What infected in the hour before; animals that are placed or join; gear."""
        trophont, met, _ = tables(self.p)
        self.fish.infect(t, self.infected, trophont)
        for brought_in in self._animals(t):
            self.fish.infect(t, self.p.fresh * brought_in, trophont)
            self.fish.infect(t, (1 - self.p.fresh) * brought_in, met)
        for hour, gear in unready(self.record):
            if hour == t:
                left = unspent(self.p, gear, self.arrays, t)
                self.floor.bring(t, brought(self.p, gear), left)

    def _animals(self, t: int) -> list[float]:
        """Expected trophonts on the animals that come at this hour."""
        record = self.record
        first = [record.fish * record.parasites_per_fish] if t == 0 else []
        joined = [
            each.fish * each.parasites_per_fish
            for each in record.joins
            if whole_hour(each.hour) == t
        ]
        return first + joined

    def _events(self, t: int) -> None:
        """The move and the deaths of hour t."""
        arrays, fish = self.arrays, self.fish
        carried = arrays.carried[0, t]
        self.theronts *= carried
        ripe_cysts = self.ripe_cysts + self.floor.ripens[t]
        self.ripe_cysts = 0.0 if arrays.moved[0, t] else ripe_cysts
        ripe = self.ripe + fish.ripens[t]
        self.ripe = ripe * fish.stays_on[t]
        from_dead = arrays.viable[0, t] * (ripe * fish.gets_off[t] + fish.off[t])
        self.drops[t] += from_dead
        self.floor.drop(t, self.fell * carried + from_dead)

    def _during(self, t: int) -> None:
        """From t to t + 1: drop, hatch, infect."""
        arrays, after = self.arrays, min(t + 1, self.arrays.hours - 1)
        falls = self.ripe * arrays.drop[0, t]
        self.ripe -= falls
        self.fell = falls * arrays.viable[0, after]
        self.drops[t] += self.fell
        self.hatches[t] = self.ripe_cysts * arrays.hatch[0, t]
        self.ripe_cysts -= self.hatches[t]
        infecting = self.theronts * arrays.infects[t, :, 0]
        self.infections[t] = infecting.sum()
        self.infected = self.infections[t] + arrays.exposed[0, t]
        self.theronts = np.roll(self.theronts - infecting, 1)
        self.theronts[0] = self.hatches[t] * self.p.theronts

    def counted(self) -> Counts:
        """Sums by stay: what happens in the hour from t belongs to the stay of t."""
        bounds = [(each.first, each.end) for each in self.record.stays]
        sums = (
            np.array([hourly_sum[a:b].sum() for a, b in bounds])
            for hourly_sum in (self.infections, self.drops, self.hatches)
        )
        return Counts(*self.by_hour, *sums)
