"""What the recursions find: chances that something of one individual lives at a horizon."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from protocols.carryover.distributions import Floats

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Columns:
    """The horizons asked for: record, horizon. Each is two columns: in reach, then on fish."""

    hours: Whole

    @property
    def reach(self) -> slice:
        return slice(0, self.hours.shape[1])

    @property
    def both(self) -> Whole:
        return np.concatenate([self.hours, self.hours], axis=1)

    def only(self, n: int) -> Self:
        return type(self)(self.hours[n : n + 1])


@dataclass(frozen=True, slots=True)
class Living:
    """Chances by record, hour, column. A column is 0 at every hour after its horizon.

    The first three arrive at the hour and meet its events (move, deaths) yet.
    """

    trophont: Floats  # infected just now
    ripe: Floats  # a ripe trophont, times the chance to be on none that died before
    cyst: Floats  # a ripe cyst
    dropped: Floats  # what drops, and is here after the events of the hour

    def only(self, n: int) -> Self:
        one = slice(n, n + 1)
        return type(self)(self.trophont[one], self.ripe[one], self.cyst[one], self.dropped[one])
