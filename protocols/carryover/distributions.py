"""How much development a trophont or a cyst needs, in reference hours (hours at 25 C).

Distribution functions as they are written, and the same as tables of what is still unfinished.
"""

from collections.abc import Callable
from functools import lru_cache
from math import erfc, exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from protocols.carryover.parameters import Parameters

Floats = NDArray[np.float64]
Ticks = NDArray[np.int64]
STEPS_PER_H = 100
ROUND_H = 512
ERFC = np.frompyfunc(erfc, 1, 1)


def unfinished_trophont(p: Parameters, x: Floats) -> Floats:
    """1 - F_T: chance that a trophont needs more than x reference hours from infection."""
    return _over(x, log(p.trophont_median), p.trophont_sigma)


def unfinished_met(p: Parameters, x: Floats) -> Floats:
    """1 - F_E: the same from a random moment of its stay on the fish on.

    What is left of an interval that was met by chance, so the longer the likelier.
    """
    s, mu = p.trophont_sigma, log(p.trophont_median)
    mean = exp(mu + s * s / 2)
    left: Floats = np.maximum(mean * _over(x, mu + s * s, s) - x * _over(x, mu, s), 0.0)
    return left / mean


def unfinished_cyst(p: Parameters, x: Floats) -> Floats:
    """1 - F_C: chance that a cyst needs more than x reference hours from the drop."""
    median, slow = p.tomont_median, p.slow_share
    usual = _over(x, log(median), p.tomont_sigma)
    return (1 - slow) * usual + slow * _over(x, log(p.slow_ratio * median), p.slow_sigma)


def _over(x: Floats, mu: float, sigma: float) -> Floats:
    """Chance that a lognormal number exceeds x, accurate far into the tail."""
    with np.errstate(divide="ignore"):
        z = (np.log(x) - mu) / (sigma * sqrt(2))
    return 0.5 * np.asarray(ERFC(z), np.float64)


class Table:
    """What is unfinished after so many ticks of a hundredth of a reference hour.

    Rounding development to ticks, once for each hour of a record, moves every requirement by
    less than a minute; what is looked up is then exact, and rises and falls as it should.
    """

    def __init__(
        self, unfinished: Callable[[Parameters, Floats], Floats], p: Parameters
    ) -> None:
        self._unfinished = unfinished
        self._parameters = p
        self._cover(1)

    def left(self, elapsed: Ticks) -> Floats:
        """Chance that more than `elapsed` ticks are needed; these are not negative."""
        try:
            return self._values[elapsed]
        except IndexError:
            self._cover(int(elapsed.max()))
            return self._values[elapsed]

    def finished_by(self, chance: float) -> int:
        """The most ticks after which less than `chance` are finished."""
        return int(np.searchsorted(-self._values, chance - 1)) - 1

    def _cover(self, most: int) -> None:
        hours = (most // (STEPS_PER_H * ROUND_H) + 1) * ROUND_H
        elapsed = np.arange(hours * STEPS_PER_H + 1) / STEPS_PER_H
        self._values = self._unfinished(self._parameters, elapsed)


class Tables(NamedTuple):
    trophont: Table  # from infection
    met: Table  # from a random moment of its stay
    cyst: Table  # from the drop


@lru_cache(maxsize=64)
def tables(p: Parameters) -> Tables:
    """The three distributions of a parameter set."""
    return Tables(
        Table(unfinished_trophont, p), Table(unfinished_met, p), Table(unfinished_cyst, p)
    )


def ticks(reference_h: Floats) -> Ticks:
    """Reference hours as whole ticks."""
    rounded: Ticks = np.rint(reference_h * STEPS_PER_H).astype(np.int64)
    return rounded
