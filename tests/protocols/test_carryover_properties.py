"""Carry-over: what must hold of any record, hour by hour.

FILLMARK_CARRY_OVER_RECORDS (3 unless told) says on how many random records.
"""

import os
from dataclasses import replace

import numpy as np
import pytest

from protocols.carryover import counts
from protocols.carryover.chances import chances
from protocols.carryover.inputs import Exposure, Gear
from protocols.carryover.parameters import SETS, parameters
from protocols.carryover.reading_inputs import read_inputs
from tests.protocols.carried import WORKED, random_record

RECORDS = int(os.environ.get("FILLMARK_CARRY_OVER_RECORDS", "3"))
READY = Gear(prior_cysts=5, hours_since_use=50, disinfected=True, dry_h=24)
WET = replace(READY, disinfected=False, dry_h=2)
seeds = pytest.mark.parametrize("seed", range(RECORDS))


def never_more(less, more):
    """Beyond rounding."""
    return bool((less <= more * (1 + 1e-9) + 1e-15).all())


def by_hour(p, *records):
    """In reach above on fish, by hour, for records that end together."""
    hours = np.tile(np.arange(records[0].end + 1), (len(records), 1))
    return list(np.stack(chances(p, records, hours), axis=1))


def some_record(seed):
    """A random record of six days, the set it is judged by, and more chance."""
    draw = np.random.default_rng(10_000 + seed)
    p = parameters(list(SETS)[seed % 3])
    return read_inputs(random_record(seed, days=6 + seed % 8)), p, draw


def with_stay(record, k, **changes):
    stays = list(record.stays)
    stays[k] = replace(stays[k], **changes)
    return replace(record, stays=tuple(stays))


def with_move(record, k, hour):
    """One more move, into ready gear and with no water."""
    stay = record.stays[k]
    fresh = replace(stay, start_h=hour, gear=(), water_carried_ml=0.0)
    halves = (replace(stay, end_h=hour), fresh)
    return replace(record, stays=(*record.stays[:k], *halves, *record.stays[k + 1 :]))


@seeds
def test_moves_and_gear_and_water_never_do_the_contrary(seed):
    """M1 (and so M2), M3: compared at the same hour of two records."""
    record, p, draw = some_record(seed)
    k = int(draw.integers(0, sum(each.end > each.first for each in record.stays)))
    stay = record.stays[k]
    hour = float(draw.integers(stay.first + 1, stay.end))
    wet = with_stay(record, k, gear=(WET,))
    water = with_stay(record, -1, water_carried_ml=record.stays[-1].water_carried_ml + 300)
    dead = tuple(replace(each, removed_after_h=30) for each in record.deaths)
    more_exposed = (*record.exposure, Exposure(hour, hour + 5, 0.1))

    base, moved, ready, unready, dirtier, drier, *more = by_hour(
        p,
        record,
        with_move(record, k, hour),
        with_stay(record, k, gear=(READY,)),
        wet,
        with_stay(wet, k, gear=(replace(WET, prior_cysts=9),)),
        with_stay(wet, k, gear=(replace(WET, dry_h=12),)),
        water,
        replace(record, deaths=dead),
        replace(record, parasites_per_fish=record.parasites_per_fish + 1),
        replace(record, exposure=more_exposed),
    )

    assert never_more(moved, base)
    assert never_more(ready, unready)
    assert never_more(unready, dirtier)
    assert never_more(drier, unready)
    assert all(never_more(base, each) for each in more)


@seeds
def test_nothing_comes_from_nothing(seed):
    """M4."""
    record, p, _ = some_record(seed)
    stays = tuple(replace(each, gear=(READY,)) for each in record.stays)
    clean = replace(record, stays=stays, parasites_per_fish=0.0, joins=(), exposure=())

    assert not by_hour(p, clean)[0].any()


@seeds
def test_on_fish_is_in_reach_and_nothing_grows_without_a_source(seed):
    """M5."""
    record, p, _ = some_record(seed)
    closed = replace(record, joins=(), exposure=())
    stays = tuple(replace(each, gear=()) for each in record.stays)

    (open_reach, open_fish), (reach, fish) = by_hour(p, record, replace(closed, stays=stays))

    assert never_more(open_fish, open_reach)
    assert never_more(fish, reach)
    assert ((open_fish >= 0) & (open_reach <= 1)).all()
    assert never_more(reach[1:], reach[:-1])


@seeds
def test_a_longer_stay_never_has_fewer_infections(seed):
    """M6: with everything before it unchanged."""
    record, p, draw = some_record(seed)
    last = max(n for n, each in enumerate(record.stays) if each.end > each.first)
    until = replace(record, stays=record.stays[: last + 1])
    longer = with_stay(until, last, end_h=record.end + float(draw.integers(1, 40)))

    assert counts(longer, p).infections[last] >= counts(until, p).infections[last]


def test_the_textbook_series_clears_all_but_one_in_a_thousand():
    """M7, and it is a property of expected numbers under every set."""
    found = [counts(WORKED[0]["inputs"], each).trophonts for each in SETS]

    left = [each[-1] / each[0] for each in found]

    assert left == pytest.approx([2e-9, 2e-6, 2.5e-4], rel=0.1)
