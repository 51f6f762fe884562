"""Risk that a living stage is left: all sources of a record, which are independent."""

from collections.abc import Iterator, Sequence

import numpy as np

from protocols.carryover import unripe
from protocols.carryover.backwards import living
from protocols.carryover.distributions import Floats, tables, ticks
from protocols.carryover.hourly import Hourly, hourly
from protocols.carryover.inputs import Gear, Inputs, whole_hour
from protocols.carryover.living import Columns, Living, Whole
from protocols.carryover.parameters import Parameters

AGES_H = np.arange(3.0, 72.0, 6.0)  # of cysts at the last users' end, with equal chance


def chances(p: Parameters, records: Sequence[Inputs], horizons: Whole) -> tuple[Floats, Floats]:
    """Risk in reach and on fish, by record and horizon (hours 0 to T of its own record)."""
    arrays = hourly(p, records)
    columns = Columns(horizons)
    found = living(p, arrays, columns)
    nothing = _arrivals(p, records, arrays, columns, found)
    nothing -= np.einsum("nt,ntj->nj", arrays.exposed[:, :-1], found.trophont[:, 1:])
    for n, record in enumerate(records):
        for hour, gear in unready(record):
            one = _gear(p, gear, arrays.only(n), columns.only(n), found.only(n), hour)
            nothing[n] -= brought(p, gear) * one
    risk = -np.expm1(nothing)
    return risk[:, columns.reach], risk[:, columns.reach.stop :]


def _arrivals(
    p: Parameters, records: Sequence[Inputs], arrays: Hourly, columns: Columns, found: Living
) -> Floats:
    """Log of the chance that nothing is left of what animals brought: at hour 0, and joins."""
    lives = _arriving(p, arrays, columns, found, 0)
    fish = np.array([each.fish for each in records])[:, None]
    load = np.array([each.parasites_per_fish for each in records])[:, None]
    nothing = _nothing_of(p, fish, load, lives)
    for n, record in enumerate(records):
        for join in record.joins:
            hour = whole_hour(join.hour)
            one = _arriving(p, arrays.only(n), columns.only(n), found.only(n), hour)
            nothing[n] += _nothing_of(p, join.fish, join.parasites_per_fish, one)[0]
    return nothing


def _nothing_of(
    p: Parameters, fish: int | Whole, load: float | Floats, lives: Floats
) -> Floats:
    """Log chance for animals that each bring a negative binomial number, mean `load`."""
    each: Floats = np.log1p(load / p.load_k * lives)
    return -p.load_k * fish * each


def _arriving(
    p: Parameters, arrays: Hourly, columns: Columns, found: Living, hour: int
) -> Floats:
    """Of one trophont that arrives on an animal: infected just now, or at a random moment."""
    rows = slice(hour, hour + 1)
    met = unripe.trophonts(tables(p).met, arrays, columns, found, rows, hour + 1)
    met = unripe.after_deaths(arrays, found, rows, met)[:, 0]
    answer: Floats = p.fresh * found.trophont[:, hour] + (1 - p.fresh) * met
    return answer


def unready(record: Inputs) -> Iterator[tuple[int, Gear]]:
    """What was not ready when the animals met it, with the hour."""
    for stay in record.stays:
        for gear in stay.gear:
            if not gear.ready and gear.prior_cysts > 0:
                yield stay.first, gear


def brought(p: Parameters, gear: Gear) -> float:
    """Expected living cysts on gear that is not ready, before those that are spent."""
    survive = p.disinfect_survive if gear.disinfected else 1.0
    return float(gear.prior_cysts * 10 ** (-gear.dry_h / p.dry_decade_h) * survive)


def unspent(p: Parameters, gear: Gear, arrays: Hourly, hour: int) -> Floats:
    """Chance that a cyst on this gear is still to hatch, by hour from the start of its stay."""
    age, rate = arrays.tomont_age[0], arrays.tomont_rate[0, hour]
    before = ticks((gear.hours_since_use + AGES_H) * rate)
    since = age[hour : _last_hour(arrays, hour) + 1] - age[hour]
    left = tables(p).cyst.left(before[:, None] + since)
    answer: Floats = left.mean(axis=0)
    return answer


def _last_hour(arrays: Hourly, hour: int) -> int:
    """The hour at which the stay of this hour ends, or the last hour of all."""
    return min(int(arrays.stay_end[0, hour]), arrays.hours - 1)


def _gear(
    p: Parameters, gear: Gear, arrays: Hourly, columns: Columns, found: Living, hour: int
) -> Floats:
    """Of one cyst on gear that the animals met at this hour (1 - G)."""
    left = unspent(p, gear, arrays, hour)
    lives = -np.diff(left) @ found.cyst[0, hour + 1 : hour + len(left)]
    at = columns.hours[0]
    here = (at >= hour) & (at < arrays.stay_end[0, hour])
    lives[columns.reach] += np.where(here, left[np.clip(at - hour, 0, len(left) - 1)], 0.0)
    return lives
