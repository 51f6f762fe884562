"""What the death of animals does to the parasites that sit on them."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

from protocols.carryover.distributions import Floats
from protocols.carryover.inputs import Death, Inputs, whole_hour
from protocols.carryover.parameters import Parameters


@dataclass(frozen=True, slots=True)
class Deaths:
    """For each record and hour, chances of one trophont; and the hours with deaths, padded.

    A parasite forgets its host: each is on the dying one of n animals with chance 1/n.
    """

    stays_on: Floats  # kappa: it is on none of this hour's dead
    gets_off: Floats  # ell: it is on one, and off before the carcass is removed
    unripe_off: Floats  # the same for one that is not ripe yet, and still makes a cyst
    survives: Floats  # product of kappa up to and with this hour
    hours: NDArray[np.int64]  # record, n-th hour with deaths; PAD where there are fewer
    seeds: Floats  # record, n-th hour: alive until then and `unripe_off`, 0 for PAD

    def only(self, n: int) -> Self:
        """Those of one record alone."""
        one = slice(n, n + 1)
        return type(self)(*(getattr(self, each.name)[one] for each in fields(self)))


PAD = 2**40


def deaths(p: Parameters, records: Sequence[Inputs], hours: int) -> Deaths:
    """The deaths of these records; joins of an hour come before its deaths."""
    stays_on = np.ones((len(records), hours))
    gets_off = np.zeros((len(records), hours))
    when = [sorted({whole_hour(each.hour) for each in record.deaths}) for record in records]
    padded = np.full((len(records), max(map(len, when))), PAD)
    for n, record in enumerate(records):
        padded[n, : len(when[n])] = when[n]
        for hour in when[n]:
            dying = [each for each in record.deaths if whole_hour(each.hour) == hour]
            kappa, ell = one_hour(p, dying, alive_before(record, hour))
            stays_on[n, hour], gets_off[n, hour] = kappa, ell
    at, survives = np.minimum(padded, hours - 1), np.cumprod(stays_on, axis=1, dtype=float)
    seeds = p.dead_viable * np.take_along_axis(gets_off * survives / stays_on, at, axis=1)
    return Deaths(
        stays_on=stays_on,
        gets_off=gets_off,
        unripe_off=p.dead_viable * gets_off,
        survives=survives,
        hours=padded,
        seeds=np.where(padded < PAD, seeds, 0.0),
    )


def alive_before(record: Inputs, hour: int) -> int:
    """Animals alive after the joins of an hour and before its deaths."""
    joined = sum(each.fish for each in record.joins if whole_hour(each.hour) <= hour)
    dead = sum(1 for each in record.deaths if whole_hour(each.hour) < hour)
    return record.fish + joined - dead


def one_hour(p: Parameters, dying: Sequence[Death], alive: int) -> tuple[float, float]:
    """kappa and ell of one hour: its deaths one after another, with so many alive before."""
    kappa, ell = 1.0, 0.0
    for death in dying:
        on_it = kappa / alive
        ell += on_it * -np.expm1(-death.removed_after_h / p.dead_leave_h)
        kappa *= 1 - 1 / alive
        alive -= 1
    return kappa, float(ell)
