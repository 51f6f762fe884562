"""The branching process, worked back from the horizons over all hours.

Many types in a changing environment. The chance that *something lives* is kept, not that
nothing is left: every step is then a sum of positive terms, so that a risk of one in a million
million is as exact as a large one.
"""

from collections.abc import Iterator

import numpy as np

from protocols.carryover import unripe
from protocols.carryover.distributions import Floats, Table, tables
from protocols.carryover.hourly import Hourly
from protocols.carryover.living import Columns, Living
from protocols.carryover.parameters import Parameters
from protocols.carryover.rates import THERONT_HOURS

# So little ripens within the block of hours in which it began that it may count at its end.
NEARLY_NEVER = 1e-10
LONGEST_BLOCK_H = 16


def living(p: Parameters, hourly: Hourly, columns: Columns) -> Living:
    """Go back over all hours; in blocks, within which nothing ripens that began there."""
    shape = (len(hourly.last), hourly.hours, columns.both.shape[1])
    found = Living(*(np.zeros(shape) for _ in range(4)))
    back = _Back(p, hourly, columns)
    trophont, cyst = tables(p).trophont, tables(p).cyst
    for rows in _blocks(hourly, trophont, cyst):
        lives = unripe.cysts(cyst, hourly, columns, found, rows)
        found.dropped[:, rows] = hourly.viable[:, rows, None] * lives
        lives = unripe.trophonts(trophont, hourly, columns, found, rows, rows.stop)
        found.trophont[:, rows] = unripe.after_deaths(hourly, found, rows, lives)
        back.over(rows, found)
    return found


def _blocks(hourly: Hourly, trophont: Table, cyst: Table) -> Iterator[slice]:
    """The hours in blocks, the last block first."""
    length = LONGEST_BLOCK_H
    for age, table in ((hourly.trophont_age, trophont), (hourly.tomont_age, cyst)):
        fastest = int(np.diff(age, axis=1).max(initial=1))
        length = max(1, min(length, table.finished_by(NEARLY_NEVER) // fastest))
    for end in range(hourly.hours, 0, -length):
        yield slice(max(0, end - length), end)


class _Back:
    """What remembers nothing, hour by hour: theronts, ripe cysts, ripe trophonts.

    All arrays are by column and record, as they arrive at the hour reached last; those of
    theronts by age before. Hourly figures are turned so that an hour lies together.
    """

    def __init__(self, p: Parameters, hourly: Hourly, columns: Columns) -> None:
        self.p, self.hourly, self.columns = p, hourly, columns
        shape = (columns.both.shape[1], len(hourly.last))
        self.theronts = np.zeros((THERONT_HOURS + 1, *shape))
        self.trophont, self.cyst, self.ripe, self.falls = (np.zeros(shape) for _ in range(4))
        self.horizon = np.ascontiguousarray(columns.hours.T)
        self.drop, self.hatch = _by_hour(hourly.drop), _by_hour(hourly.hatch)
        self.carried, self.here = (
            _by_hour(hourly.carried),
            _by_hour((~hourly.moved).astype(float)),
        )
        self.stays_on = _by_hour(hourly.deaths.stays_on)
        self.gets_off = _by_hour(hourly.deaths.gets_off)
        self.survived = _by_hour(hourly.deaths.survives / hourly.deaths.stays_on)

    def over(self, rows: slice, found: Living) -> None:
        """Go back over a block of hours whose unripe ones are known, and note the ripe."""
        trophont, dropped = _by_hour(found.trophont[:, rows]), _by_hour(found.dropped[:, rows])
        cyst, ripe = np.empty_like(trophont), np.empty_like(trophont)
        for n in reversed(range(len(trophont))):
            self._hour(rows.start + n, dropped[n])
            self.trophont = trophont[n]
            cyst[n], ripe[n] = self.cyst, self.ripe
        found.cyst[:, rows] = cyst.transpose(2, 0, 1)
        found.ripe[:, rows] = (ripe * self.survived[rows, None]).transpose(2, 0, 1)

    def _hour(self, t: int, dropped: Floats) -> None:
        """During [t, t+1), then the events of t; `dropped` is known for t already."""
        now = (self.horizon == t).astype(float)
        cyst = self._ripe_cyst(self.hatch[t])
        ripe = self._ripe_trophont(self.drop[t])
        theronts = self._theronts(self.hourly.infects[t])
        reach = self.columns.reach
        cyst[reach] += now
        theronts[:-1, reach] += now
        ripe[reach] += now
        ripe[reach.stop :] += now
        # Events of t, the last first: deaths, then the move.
        self.ripe = self.stays_on[t] * ripe + self.gets_off[t] * dropped
        self.theronts = theronts
        self.theronts *= self.carried[t]
        self.cyst = cyst * self.here[t]
        self.falls = self.carried[t] * dropped

    def _ripe_cyst(self, gate: Floats) -> Floats:
        """W: it hatches into a negative binomial number of theronts, or waits."""
        each = self.p.theronts / self.p.theronts_shape
        hatched = -np.expm1(-self.p.theronts_shape * np.log1p(each * self.theronts[0]))
        answer: Floats = self.cyst + gate * (hatched - self.cyst)
        return answer

    def _ripe_trophont(self, gate: Floats) -> Floats:
        """R: it drops, or waits."""
        answer: Floats = self.ripe + gate * (self.falls - self.ripe)
        return answer

    def _theronts(self, infects: Floats) -> Floats:
        """H: of each age one infects, or is an hour older; what is 12 h old is gone."""
        older = self.theronts[1:]
        answer = np.zeros_like(self.theronts)
        younger = answer[:-1]
        np.subtract(self.trophont, older, out=younger)
        younger *= infects[:, None]
        younger += older
        return answer


def _by_hour(by_record: Floats) -> Floats:
    """Hours first, records last, in one piece."""
    order = (1, *range(2, by_record.ndim), 0)
    return np.ascontiguousarray(by_record.transpose(order))
