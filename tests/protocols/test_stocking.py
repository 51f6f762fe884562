"""What ammonia and oxygen will be over a stay, and how many a container takes."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from protocols.handling import Handled
from protocols.stocking import answer, most_of
from protocols.stocking_answer import Binds
from protocols.stocking_forecast import (
    ARRIVAL,
    FASTED,
    FED,
    STILL,
    Animals,
    Change,
    Conditions,
    Plan,
    forecast,
    oxygen,
    peak,
    reaches,
)
from protocols.stocking_ways import maintenance_percent_day

ALARM = 0.05
CLOWNS = Animals(10, 1.5, 4.0, 0.45, "Amphiprion ocellaris")
WATER = Conditions(volume_l=60, temperature_c=26, salinity=33, ph=8.1)
STAY = Plan(hours=72, first_day=FED)


def nh3(animals, water=WATER, plan=STAY):
    return peak(forecast(animals, water, plan)).nh3_n_mg_l


def test_three_days_of_full_ration_are_those_of_the_worked_example():
    fish = Animals(1, 50, 2.0, 0.45)
    water = Conditions(volume_l=40, temperature_c=25, salinity=33, ph=8.1)

    last = forecast([fish], water, STAY)[-1]

    assert (last.hour, last.tan_mg_l) == (72, pytest.approx(3.11, abs=0.01))
    assert last.nh3_n_mg_l == pytest.approx(0.154, abs=0.001)


def test_on_the_day_they_arrive_they_give_off_a_quarter():
    arrived = forecast([CLOWNS], WATER, replace(STAY, first_day=ARRIVAL))
    fed = forecast([CLOWNS], WATER, STAY)

    assert arrived[24].tan_mg_l == pytest.approx(FASTED * fed[24].tan_mg_l)
    rise = arrived[-1].tan_mg_l - arrived[24].tan_mg_l
    assert rise == pytest.approx(fed[48].tan_mg_l)


def test_a_water_change_is_a_step_down_and_brings_what_is_in_the_new_water():
    changed = replace(STAY, changes=(Change(36, 0.5, source_tan_mg_l=0.1),))

    before, after = (one for one in forecast([CLOWNS], WATER, changed) if one.hour == 36)

    assert after.tan_mg_l == pytest.approx(before.tan_mg_l / 2 + 0.05)


def test_when_the_alarm_is_reached_is_told_between_two_hours():
    points = forecast([CLOWNS], WATER, STAY)

    assert reaches(points, points[30].nh3_n_mg_l) == pytest.approx(30)
    middle = (points[30].nh3_n_mg_l + points[31].nh3_n_mg_l) / 2
    assert reaches(points, middle) == pytest.approx(30.5)
    assert reaches(points, 1.0) is None


MASSES, COUNTS = st.floats(0.2, 200), st.integers(1, 60)
LITRES = st.floats(5, 2000)


@given(MASSES, COUNTS, LITRES, st.integers(1, 20))
def test_more_animals_never_lower_ammonia_and_more_water_never_raises_it(
    mass, count, litres, more
):
    fish, water = Animals(count, mass, 3.0, 0.45), replace(WATER, volume_l=litres)

    now = nh3([fish], water)

    assert nh3([fish.times(count + more)], water) >= now
    assert nh3([fish], replace(water, volume_l=litres + more)) <= now


@settings(max_examples=25)
@given(MASSES, LITRES, st.floats(0, 2000), st.booleans(), st.integers(0, 5))
def test_the_number_that_is_said_fits_and_one_more_does_not(mass, litres, height, air, others):
    water = replace(
        WATER, volume_l=litres, altitude_m=height, exchange_per_h=2.0 if air else STILL
    )
    there = Animals(others, 3.0, 4.0, 0.45)

    def said(count):
        return answer([Animals(count, mass, 3.0, 0.45), there], water, STAY, alarm_mg_l=ALARM)

    most = said(0).most
    assume(most is not None)

    assert said(most).fits
    assert not said(most + 1).fits
    if most:
        fine = said(most)
        assert fine.highest.nh3_n_mg_l < ALARM
        assert fine.oxygen.percent >= 80 - 1e-6


def test_one_more_than_fits_passes_the_alarm_or_takes_too_much_oxygen():
    most, binds = most_of([CLOWNS], WATER, STAY, alarm_mg_l=ALARM)

    assert binds is Binds.AMMONIA
    assert nh3([CLOWNS.times(most)]) < ALARM <= nh3([CLOWNS.times(most + 1)])


def test_without_an_air_stone_oxygen_binds_and_the_stone_is_offered():
    fish = Animals(30, 1.0, 0.2, 0.45)
    still = replace(WATER, exchange_per_h=STILL)

    found = answer([fish], still, STAY, alarm_mg_l=ALARM)

    assert (found.fits, found.binds) == (False, Binds.OXYGEN)
    assert "air_stone" in [one.kind for one in found.ways]


def test_on_a_mountain_fewer_fit_for_want_of_oxygen():
    fish, still = Animals(1, 1.0, 0.1, 0.45), replace(WATER, exchange_per_h=STILL)

    sea, _ = most_of([fish], still, STAY, alarm_mg_l=ALARM)
    mountain, _ = most_of([fish], replace(still, altitude_m=2000), STAY, alarm_mg_l=ALARM)

    assert mountain < sea
    assert oxygen([fish], replace(still, altitude_m=1000)).saturation_mg_l == pytest.approx(
        5.95, abs=0.01
    )


def test_those_that_fight_are_one_to_a_cell_however_large_it_is():
    dotty = replace(CLOWNS, count=2, minded=frozenset({Handled.AGGRESSIVE}))
    pond = replace(WATER, volume_l=5000)

    found = answer([dotty], pond, STAY, alarm_mg_l=ALARM)

    assert (found.most, found.binds) == (1, Binds.ONE_PER_CELL)
    assert [one.kind for one in found.ways] == ["fewer"]
    assert answer([dotty], pond, STAY, alarm_mg_l=ALARM, cells=2).fits


def test_nobody_goes_with_those_that_poison_the_water():
    boxfish = replace(CLOWNS, count=1, minded=frozenset({Handled.TOXIC}))

    assert answer([boxfish], WATER, STAY, alarm_mg_l=ALARM).fits
    mixed = answer([boxfish, CLOWNS.times(1)], WATER, STAY, alarm_mg_l=ALARM)
    assert (mixed.most, mixed.binds) == (0, Binds.TOXIC_ALONE)


@pytest.mark.parametrize("count", [14, 20, 40])
def test_whatever_is_offered_instead_helps(count):
    fish = CLOWNS.times(count)

    found = answer([fish], WATER, STAY, alarm_mg_l=ALARM)
    ways = {one.kind: one.numbers for one in found.ways}

    assert nh3([CLOWNS.times(ways["fewer"]["count"])]) < ALARM
    litres = ways["larger"]["volume_l"]
    assert nh3([fish], replace(WATER, volume_l=litres)) < ALARM
    assert nh3([fish], replace(WATER, volume_l=litres - 1)) >= ALARM
    if change := ways.get("water_change"):
        hours = range(change["after_h"], 72, change["after_h"])[: change["times"]]
        changes = tuple(Change(hour, change["percent"] / 100) for hour in hours)
        assert nh3([fish], plan=replace(STAY, changes=changes)) < ALARM
    if feed := ways.get("less_feed"):
        assert nh3([fish], plan=replace(STAY, ration=feed["percent"] / 100)) < ALARM


def test_food_is_never_cut_below_what_keeps_them():
    assert maintenance_percent_day(1.3) == pytest.approx(0.8, abs=0.01)
    assert maintenance_percent_day(150) == pytest.approx(0.32, abs=0.01)
    fish = Animals(60, 1.5, 1.0, 0.45)

    found = answer([fish], WATER, STAY, alarm_mg_l=ALARM)

    assert "less_feed" not in [one.kind for one in found.ways]


def test_nothing_to_plan_for_is_refused():
    with pytest.raises(ValueError, match="animals"):
        answer([], WATER, STAY, alarm_mg_l=ALARM)
