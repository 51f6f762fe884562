"""One record played many times, individual by individual: what the model is held against.

Written from the words of the model, not from its recursions: every parasite draws what it
needs, waits for its night, is taken along or left behind. Individuals of all runs lie in one
array, a generation at a time; presence is noted at the horizons only.
"""

from dataclasses import dataclass

import numpy as np

from protocols.carryover.hourly import hourly
from protocols.carryover.inputs import Inputs, whole_hour
from protocols.carryover.parameters import Parameters

TICKS = 100.0


@dataclass
class Gone:
    """At each horizon: which runs have something on fish, and which something in reach."""

    horizons: list[int]
    fish: np.ndarray
    reach: np.ndarray

    def note(self, runs, since, until, *, on_fish):
        """Something of these runs was there at the hours since <= h < until."""
        for n, horizon in enumerate(self.horizons):
            there = runs[(since <= horizon) & (horizon < until)]
            self.reach[n, there] = True
            if on_fish:
                self.fish[n, there] = True


class Played:
    """All runs of one record under one set. Hourly figures are those of the model's input."""

    def __init__(self, p: Parameters, record: Inputs, runs: int, seed: int):
        self.p, self.record, self.runs = p, record, runs
        self.draw = np.random.default_rng(seed)
        self.hour = hourly(p, [record])
        self.end = record.end
        self.trophont_age = self.hour.trophont_age[0] / TICKS
        self.tomont_age = self.hour.tomont_age[0] / TICKS
        self.drops = _cumulative(self.hour.drop[0])
        self.hatches = _cumulative(self.hour.hatch[0])
        self.moves = np.flatnonzero(self.hour.moved[0])
        self.gone = Gone([], np.zeros((0, runs), bool), np.zeros((0, runs), bool))

    def chances(self, horizons):
        """In reach and on fish at these hours: shares of the runs."""
        shape = (len(horizons), self.runs)
        self.gone = Gone(list(horizons), np.zeros(shape, bool), np.zeros(shape, bool))
        new = self._arrive()
        gear = self._gear()
        while len(new[0]) or len(gear[0]):
            dropped = self._on_fish(*new)
            hatched = [self._on_floor(*dropped), gear]
            new = self._infect(*(np.concatenate(each) for each in zip(*hatched, strict=True)))
            gear = (gear[0][:0], gear[1][:0])
        return self.gone.reach.mean(axis=1), self.gone.fish.mean(axis=1)

    def _arrive(self):
        """Runs, hours and requirements of all trophonts that come from outside."""
        record = self.record
        found = [self._animals(0, record.fish, record.parasites_per_fish)]
        for join in record.joins:
            found.append(
                self._animals(whole_hour(join.hour), join.fish, join.parasites_per_fish)
            )
        for t in np.flatnonzero(self.hour.exposed[0][: self.end]):
            runs = self._repeat(self.draw.poisson(self.hour.exposed[0, t], self.runs))
            found.append((runs, np.full(len(runs), t + 1), self._needs(len(runs))))
        return tuple(np.concatenate(each) for each in zip(*found, strict=True))

    def _animals(self, hour, fish, load):
        p = self.p
        mean = self.draw.gamma(p.load_k * fish, load / p.load_k, self.runs)
        runs = self._repeat(self.draw.poisson(mean))
        s = p.trophont_sigma
        needs = self._needs(len(runs))
        met = self.draw.random(len(runs)) >= p.fresh
        longer = p.trophont_median * np.exp(s * s + s * self.draw.normal(size=met.sum()))
        needs[met] = longer * self.draw.random(met.sum())
        return runs, np.full(len(runs), hour), needs

    def _repeat(self, numbers):
        return np.repeat(np.arange(self.runs), numbers)

    def _needs(self, number):
        p = self.p
        return p.trophont_median * np.exp(p.trophont_sigma * self.draw.normal(size=number))

    def _cyst_needs(self, number):
        p = self.p
        slow = self.draw.random(number) < p.slow_share
        median = np.where(slow, p.slow_ratio * p.tomont_median, p.tomont_median)
        sigma = np.where(slow, p.slow_sigma, p.tomont_sigma)
        return median * np.exp(sigma * self.draw.normal(size=number))

    def _on_fish(self, runs, since, needs):
        """From infection to drop, or to the death of the host. Gives viable cysts, loose."""
        ripe = _reached(self.trophont_age, since, needs)
        falls = self._passes(self.drops, ripe)
        until = np.minimum(falls, self.end + 1)
        off = np.full(len(runs), self.end + 1)
        for hour, chance, removed in self._dying():
            there = (since <= hour) & (until > hour)
            there &= self.draw.random(len(runs)) < chance
            leaves = self.draw.random(len(runs)) < 1 - np.exp(-removed / self.p.dead_leave_h)
            leaves &= (ripe <= hour) | (self.draw.random(len(runs)) < self.p.dead_viable)
            until = np.where(there, hour, until)
            falls = np.where(there, self.end + 2, falls)
            off = np.where(there & leaves, hour, off)
        self.gone.note(runs, since, until, on_fish=True)
        return self._dropped(runs, falls, off)

    def _dying(self):
        """Hour, chance to be on the dying animal, hours until removed: in order."""
        record = self.record
        for n, death in enumerate(sorted(record.deaths, key=lambda each: each.hour)):
            hour = whole_hour(death.hour)
            joined = sum(j.fish for j in record.joins if whole_hour(j.hour) <= hour)
            yield hour, 1 / (record.fish + joined - n), death.removed_after_h

    def _dropped(self, runs, falls, off):
        """Viable ones, here after the events of the hour of the drop."""
        fell, dead = falls <= self.end, off <= self.end
        hour = np.concatenate([falls[fell], off[dead]])
        runs = np.concatenate([runs[fell], runs[dead]])
        here = self.draw.random(len(runs)) < self.hour.viable[0][hour]
        thinned = np.concatenate([self.hour.carried[0][falls[fell]], np.ones(dead.sum())])
        here &= self.draw.random(len(runs)) < thinned
        return runs[here], hour[here]

    def _on_floor(self, runs, since):
        """From drop to hatch, through moves. Gives runs and hours of theronts of age 0."""
        p, number = self.p, len(runs)
        ripe = _reached(self.tomont_age, since, self._cyst_needs(number))
        loose_until = since + self.draw.exponential(p.settle_h, number)
        hatches = self._passes(self.hatches, ripe)
        until = np.minimum(hatches, self.end + 1)
        left = np.zeros(number, bool)
        for move in self.moves:
            # What hatched in the last hour is theronts when the animals move.
            meets = (since < move) & (until > move)
            taken = (ripe > move) & (loose_until > move)
            taken &= self.draw.random(number) < self.hour.carried[0, move]
            goes = meets & ~taken
            until = np.where(goes, move, until)
            left |= goes
        self.gone.note(runs, since, until, on_fish=False)
        hatched = ~left & (hatches <= self.end)
        return runs[hatched], hatches[hatched]

    def _gear(self):
        """Cysts on gear that hatch in the stay that they were met in."""
        found = [(np.zeros(0, int), np.zeros(0, int))]
        for stay in self.record.stays:
            for gear in stay.gear:
                if not (gear.disinfected and gear.dry_h >= 24):
                    found.append(self._of_gear(gear, stay.first))
        return tuple(np.concatenate(each) for each in zip(*found, strict=True))

    def _of_gear(self, gear, start):
        p = self.p
        mean = gear.prior_cysts * 10 ** (-gear.dry_h / p.dry_decade_h)
        mean *= p.disinfect_survive if gear.disinfected else 1
        runs = self._repeat(self.draw.poisson(mean, self.runs))
        number = len(runs)
        age = gear.hours_since_use + self.draw.choice(np.arange(3, 72, 6), number)
        needs = self._cyst_needs(number) - age * self.hour.tomont_rate[0, start]
        runs, needs = runs[needs > 0], needs[needs > 0]
        since = np.full(len(runs), start)
        ripe = _reached(self.tomont_age, since, needs)
        hatches = self._passes(self.hatches, ripe)
        end = min(int(self.hour.stay_end[0, start]), self.end + 1)
        self.gone.note(runs, since, np.minimum(hatches, end), on_fish=False)
        hatched = (ripe < end) & (hatches <= min(end, self.end))
        return runs[hatched], hatches[hatched]

    def _infect(self, runs, born):
        """Theronts of each hatching, hour by hour, until they are 12 h old."""
        p = self.p
        size = self.draw.gamma(p.theronts_shape, p.theronts / p.theronts_shape, len(runs))
        alive = self.draw.poisson(size)
        alive = self.draw.binomial(alive, self.hour.carried[0][born])
        new_runs, new_hours = [], []
        for age in range(12):
            now = born + age
            here = (alive > 0) & (now <= self.end)
            self.gone.note(runs[here], now[here], now[here] + 1, on_fish=False)
            going = here & (now < self.end)
            runs, born, alive, now = runs[going], born[going], alive[going], now[going]
            infects = self.draw.binomial(alive, self.hour.infects[now, age, 0])
            new_runs.append(np.repeat(runs, infects))
            new_hours.append(np.repeat(now + 1, infects))
            alive = self.draw.binomial(alive - infects, self.hour.carried[0][now + 1])
        runs, hours = np.concatenate(new_runs), np.concatenate(new_hours)
        return runs, hours, self._needs(len(runs))

    def _passes(self, hazard, ripe):
        """The hour at which what is ripe from `ripe` on has passed its gate; late: never."""
        at = np.minimum(ripe, self.end + 1)
        wanted = hazard[at] + self.draw.exponential(size=len(ripe))
        return np.where(ripe > self.end, self.end + 2, np.searchsorted(hazard, wanted))


def _cumulative(chance):
    """Hazard added up over the hours before each hour, up to one beyond the last."""
    return np.concatenate([[0.0], np.cumsum(-np.log1p(-chance))])


def _reached(age, since, needs):
    """The hour at which development since an hour is enough; beyond all hours if never."""
    return np.searchsorted(age, age[since] + needs, side="left")
