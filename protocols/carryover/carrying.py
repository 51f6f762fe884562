"""Whether an unripe cyst is still with the animals after moves: only loose, and in the water.

Within the stay of its drop it is. A later stay it has reached with the product of the shares of
water carried, times the chance exp(-x / settle_h) to be loose x hours after the drop, when that
later stay began. As logs both are differences of two numbers, one for each hour.
"""

import numpy as np
from numpy.typing import NDArray

from protocols.carryover.distributions import Floats
from protocols.carryover.parameters import Parameters

NOTHING = -40.0  # log of no water: so small that it is nothing, and sixteen do not overflow


def logs(p: Parameters, moved: NDArray[np.bool_], carried: Floats) -> tuple[Floats, Floats]:
    """By record and hour: of reaching the stay of that hour, and of a drop in that hour."""
    hours = np.arange(moved.shape[1])
    share = np.where(moved & (carried > 0), carried, 1.0)
    step = np.where(moved & (carried == 0), NOTHING, np.log(share))
    carries = np.cumsum(step, axis=1)
    began = np.maximum.accumulate(np.where(moved, hours, 0), axis=1)
    return carries - began / p.settle_h, carries - hours / p.settle_h


def together(kept: Floats, loose: Floats) -> Floats:
    """Chance that a cyst dropped in some hours is there in others: record, drop, other hour.

    The drops are within a few hours of each other: two numbers from one of them.
    """
    origin = loose[:, :1]
    reached, still_loose = np.exp(kept - origin), np.exp(origin - loose)
    share: Floats = still_loose[:, :, None] * reached[:, None, :]
    return np.minimum(share, 1.0, out=share)
