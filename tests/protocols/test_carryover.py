"""Carry-over: the twelve worked records, the values of single functions, what is refused."""

import copy
import math

import numpy as np
import pytest

from protocols.carryover import VERSION, assess, assess_many, counts, rates, risk
from protocols.carryover.chances import brought, chances
from protocols.carryover.deaths import one_hour
from protocols.carryover.distributions import (
    unfinished_cyst,
    unfinished_met,
    unfinished_trophont,
)
from protocols.carryover.flags import flags
from protocols.carryover.inputs import Death, Gear, whole_hour
from protocols.carryover.parameters import CENTRAL, HIGH, LOW, SETS
from protocols.carryover.rates import gates, hazard, infection, tomont_rate, trophont_rate
from protocols.carryover.reading_inputs import read_inputs
from protocols.carryover.words import said
from tests.protocols.carried import WORKED

IDS = [each["id"] for each in WORKED]
CELSIUS = np.array([18.0, 20, 22, 27, 30, 32])


def near(value, tolerance):
    return pytest.approx(value, rel=tolerance["relative"], abs=tolerance["absolute"])


@pytest.fixture(scope="module")
def risks():
    """In reach and on fish of every worked record under every set, by hour of move and end."""
    records = [read_inputs(each["inputs"]) for each in WORKED]
    hours = [[each["hour"] for each in worked["expected"]["at_moves"]] for worked in WORKED]
    columns = np.array([([*some, end] + [end] * 9)[:9] for some, end in _with_ends(hours)])
    return {name: chances(SETS[name], records, columns) for name in SETS}


def _with_ends(hours):
    return zip(hours, (each["expected"]["end_h"] for each in WORKED), strict=True)


@pytest.fixture(scope="module")
def assessed():
    """The worked records, assessed together."""
    return assess_many([read_inputs(each["inputs"]) for each in WORKED])


@pytest.mark.parametrize("parameter_set", SETS)
@pytest.mark.parametrize("n", range(len(WORKED)), ids=IDS)
def test_a_worked_record_has_its_risks(risks, n, parameter_set):
    expected, tolerance = WORKED[n]["expected"], WORKED[n]["tolerance"]
    at_moves = [each[parameter_set] for each in expected["at_moves"]]

    in_reach, on_fish = (each[n] for each in risks[parameter_set])

    assert in_reach[-1] == near(expected["end"][parameter_set], tolerance)
    assert on_fish[-1] == near(expected["end_on_fish"][parameter_set], tolerance)
    assert list(in_reach[: len(at_moves)]) == near(at_moves, tolerance)


def test_risk_is_by_hour():
    """A death, water carried and all horizons at once: the same as one horizon alone."""
    expected, tolerance = WORKED[10]["expected"], WORKED[10]["tolerance"]

    found = risk(WORKED[10]["inputs"], "high")

    assert len(found.in_reach) == len(found.on_fish) == expected["end_h"] + 1
    assert found.on_fish[-1] == near(expected["end_on_fish"]["high"], tolerance)
    at_moves = {each["hour"]: each["high"] for each in expected["at_moves"]}
    assert {hour: found.in_reach[hour] for hour in at_moves} == near(at_moves, tolerance)


@pytest.mark.parametrize("parameter_set", SETS)
@pytest.mark.parametrize("worked", [WORKED[n] for n in (3, 9, 10, 11)], ids=lambda w: w["id"])
def test_a_worked_record_has_its_expected_numbers(worked, parameter_set):
    expected, tolerance = worked["expected"], worked["tolerance"]

    found = counts(worked["inputs"], parameter_set)

    assert found.trophonts[0] == pytest.approx(expected["arrival_trophonts"])
    assert found.trophonts[-1] == near(expected["end_trophonts"][parameter_set], tolerance)


@pytest.mark.parametrize("n", range(len(WORKED)), ids=IDS)
def test_assessing_names_the_leading_cause_and_counts_infections(assessed, n):
    expected, tolerance = WORKED[n]["expected"], WORKED[n]["tolerance"]

    found = assessed[n]

    assert found.leading_cause == expected["leading_cause_central"]
    infections = expected["infections_in_stay_central"]
    assert list(found.counts.infections) == near(infections, tolerance)


def test_the_outlook_of_each_action_is_that_of_the_written_example():
    """First container not left until hour 96: what staying, moving and restarting leave."""
    textbook = WORKED[0]["inputs"]
    inputs = {**textbook, "stays": [{**textbook["stays"][0], "end_h": 96}]}

    found = {each.name: each for each in assess(inputs).outlooks}

    at = {name: (each.hour, each.action.moves) for name, each in found.items()}
    assert at == {
        "stay_72_more": (168, 0),
        "move_now": (168, 1),
        "restart_4_x_72": (384, 4),
        "restart_6_x_48": (384, 6),
    }
    assert found["move_now"].on_fish.low == pytest.approx(0.0034, rel=0.02)
    assert found["move_now"].on_fish.central == pytest.approx(0.063, rel=0.01)
    assert found["restart_4_x_72"].on_fish.central == pytest.approx(4e-7, rel=0.1)
    assert found["restart_6_x_48"].on_fish.high == pytest.approx(2e-5, rel=0.15)


def test_a_band_is_said_in_words_and_odds(assessed):
    found = assessed[0]

    assert said(found.on_fish) == "about 3 in 100,000; could be 1 in 700"
    assert said(found.outlooks[-1].on_fish) == "below one in a million"
    assert found.version == VERSION


def test_flags_tell_of_warm_water_and_of_hours_without_a_reading():
    warm = flags(read_inputs({**WORKED[4]["inputs"], "assumed": ["load"]}))

    assert {each.name: each.hours for each in warm} == {
        "above_28_c": 288,
        "temperature_unread": 288.0,
        "load_assumed": None,
    }


def test_development_depends_on_warmth():
    trophont = [0.396531, 0.562705, 0.798516, 1.161834, 1.454991, 1.690459]
    tomont = [0.400517, 0.557106, 0.774916, 1.185305, 1.529590, 1.813031]
    high = [0.360595, 0.516851, 0.740818, 1.221403, 1.648721, 2.013753]

    assert trophont_rate(CENTRAL, CELSIUS) == pytest.approx(trophont, abs=1e-6)
    assert tomont_rate(CENTRAL, CELSIUS) == pytest.approx(tomont, abs=1e-6)
    assert tomont_rate(HIGH, CELSIUS) == pytest.approx(high, abs=1e-6)


def test_requirements_are_distributed_as_written():
    def finished(unfinished, *hours):
        return 1 - unfinished(CENTRAL, np.array(hours, float))

    assert finished(unfinished_trophont, 72, 168) == pytest.approx(
        [0.110172, 0.998698], abs=1e-6
    )
    met = [0.106543, 0.490093, 0.910840]
    assert finished(unfinished_met, 10, 46, 92) == pytest.approx(met, abs=1e-6)
    cyst = [1.50297e-4, 0.00350583, 0.0290041, 0.476994, 0.970681]
    found = finished(unfinished_cyst, 60, 72, 84, 120, 240)
    assert found == pytest.approx(cyst, rel=1e-5)


@pytest.mark.parametrize(
    ("on", "off", "clock", "drop", "hatch"),
    [
        (6, 18, 2.5, 0.506, 0.605),
        (6, 18, 5.75, 0.259, 0.010),
        (8, 6, 7.25, 2.253, 0.010),
        (8, 6, 6.0, 0.012, 3.6),
        (8, 8, 3.0, 0.09, 0.09),
    ],
)
def test_gates_are_wide_before_light(on, off, clock, drop, hatch):
    found = gates(CENTRAL, *(np.array([[float(x)]]) for x in (clock, on, off)))

    assert [-math.log1p(-gate[0, 0]) for gate in found] == pytest.approx(
        [drop, hatch], abs=5e-4
    )


def test_a_night_below_six_hours_squeezes_a_window_but_not_its_strength():
    width = np.full(48, 1.0)

    total = hazard(1.0, 0.0, 0.09, np.arange(48) / 2, width).sum() / 2

    assert total == pytest.approx(3.0)


def test_theronts_lose_their_strength():
    found = infection(CENTRAL, np.ones((1, 1)))[0, [0, 4, 6, 8, 11], 0]

    assert found == pytest.approx([0.015348, 0.013256, 0.007704, 0.003201, 0.000843], abs=1e-6)


def test_cysts_of_cold_water_are_less_viable():
    warm = rates.warmth(np.array([18.0, 20, 22]))

    assert rates.viability(CENTRAL, warm) == pytest.approx([0.42, 0.56, 0.70])


def test_a_death_takes_a_tenth_of_the_parasites_of_ten():
    assert one_hour(CENTRAL, [Death(60, 12)], 10) == pytest.approx((0.9, 0.0909282), abs=1e-7)


def test_wet_gear_brings_what_drying_left():
    gear = Gear(prior_cysts=5, hours_since_use=30, disinfected=False, dry_h=2)

    assert brought(CENTRAL, gear) == pytest.approx(2.81171, abs=1e-5)
    assert brought(LOW, Gear(5, 30, True, 2)) == pytest.approx(5 * 10 ** (-1 / 3) * 1e-4)


@pytest.mark.parametrize(
    ("given", "hour"), [(71.99, 72), (72, 72), (72.016, 72), (72.02, 73), (0, 0)]
)
def test_hours_go_up_but_for_one_minute(given, hour):
    assert whole_hour(given) == hour


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda x: x["stays"][1].update(start_h=80), "stays[1].start_h is 80.0; it must be 72"),
        (lambda x: x["stays"][0].update(start_h=5), "stays[0].start_h is 5.0; it must be 0"),
        (
            lambda x: x["stays"][2].update(end_h=140),
            "stays[2].end_h is 140.0; it must be later",
        ),
        (
            lambda x: x["stays"][0].update(volume_l=0),
            "stays[0].volume_l is 0; it must be above 0",
        ),
        (lambda x: x.update(stays=[]), "stays is empty"),
        (lambda x: x.update(fish=0), "fish is 0; it must be a number from 1 to"),
        (lambda x: x.update(fish=2.5), "fish is 2.5; it must be a whole number"),
        (lambda x: x.update(parasites_per_fish=-1), "parasites_per_fish is -1"),
        (lambda x: x.pop("lights_on_h"), "lights_on_h is missing; it must be from 0.0 to 24.0"),
        (lambda x: x.update(temperature_c=[[0, 77]]), "temperature_c[0][1] is 77; it must be"),
        (lambda x: x.update(temperature_c=[[5, 25], [5, 26]]), "they must rise"),
        (lambda x: x.update(temperature_c=[]), "temperature_c is empty"),
        (lambda x: x.update(start_clock_h=float("nan")), "start_clock_h is nan"),
        (
            lambda x: x.update(deaths=[{"hour": 9, "removed_after_h": 1}] * 10),
            "leave 0 animals",
        ),
        (lambda x: x.update(deaths=[{"hour": 290, "removed_after_h": 1}]), "from 0 to 288"),
        (
            lambda x: x["stays"][0].update(gear=[{"disinfected": "yes"}]),
            "stays[0].gear[0].disinfected is 'yes'; it must be true or false",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_name_value_and_range(change, says):
    inputs = copy.deepcopy(WORKED[0]["inputs"])
    change(inputs)

    with pytest.raises(ValueError, match=r"must|is empty|leave") as refused:
        risk(inputs)

    assert says in str(refused.value)


def test_another_parameter_set_is_refused():
    with pytest.raises(ValueError, match="must be one of low, central, high"):
        risk(WORKED[0]["inputs"], "middle")
