"""Instruments over REST: compared with a standard, and what that means for readings."""

from datetime import datetime

import pytest

from stock import rebuild
from tests.equipment import make_containers
from tests.floor import Floor
from tests.walk import Walk
from tests.water import BEGIN, LATER, check, gravity, make_refractometer, read

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, BEGIN)


@pytest.fixture
def containers(walk):
    return make_containers(walk, "R1-01", "R1-02")


@pytest.fixture
def container(containers):
    return containers[0]


@pytest.fixture
def instrument(walk):
    return make_refractometer(walk)


def test_a_failed_instrument_is_not_read_with_until_a_good_check(walk, container, instrument):
    walk.at(LATER)
    check(walk, instrument, "1.0235")

    refused = walk.refused("readings", {"readings": [gravity(container, instrument)]})
    check(walk.at("2027-02-06T09:00:00+01:00"), instrument, "1.0264")
    (taken,) = read(walk, gravity(container, instrument))["readings"]

    assert (refused.status, refused.code) == (409, "instrument_failed")
    assert refused.body["reasons"][0]["pointer"] == "/readings/0/instrument"
    assert (taken["in_doubt"], taken["in_check"]) == (False, "good")


def test_what_was_read_with_a_failed_instrument_is_kept_in_doubt(walk, container, instrument):
    check(walk.at(LATER), instrument, "1.0235")

    body = {"readings": [gravity(container, instrument)], "standing": "happened"}
    (taken,) = walk.post("readings", body)["readings"]

    assert (taken["in_doubt"], taken["in_check"]) == (True, "doubted")


def test_a_failed_check_doubts_everything_since_the_last_good_one(walk, container, instrument):
    before = read(walk.at("2027-02-01T08:00:00+01:00"), gravity(container, instrument))
    check(walk.at("2027-02-02T08:00:00+01:00"), instrument, "1.0264")
    since = read(walk.at("2027-02-03T08:00:00+01:00"), gravity(container, instrument))

    failed = check(walk.at(LATER), instrument, "1.0235")

    assert failed["passed"] is False
    assert failed["instrument"]["in_check"] == "doubted"
    assert failed["doubted"] == {"readings": [since["readings"][0]["uid"]], "moves": []}
    shown = walk.get(f"containers/{container}/readings")["readings"]
    assert [(one["in_doubt"], one["value"]) for one in shown] == [
        (True, "1.024"),
        (False, "1.024"),
    ]
    assert shown[1]["uid"] == before["readings"][0]["uid"]
    assert rebuild.check(datetime.fromisoformat(LATER)) == []


def test_a_good_check_told_late_takes_the_doubt_from_what_was_read_before_it(
    walk, container, instrument
):
    read(walk.at("2027-02-03T08:00:00+01:00"), gravity(container, instrument))
    check(walk.at(LATER), instrument, "1.0235")

    check(
        walk,
        instrument,
        "1.0264",
        performed_at="2027-02-04T08:00:00+01:00",
        reason="found on the list at the sink",
    )

    (shown,) = walk.get(f"containers/{container}/readings")["readings"]
    assert shown["in_doubt"] is False


@pytest.mark.parametrize(
    ("got", "said", "passed"),
    [("1.0264", True, True), ("1.0264", False, False), ("1.0235", True, False)],
)
def test_nobody_says_that_an_instrument_passed_against_its_numbers(
    walk, instrument, got, said, passed
):
    assert check(walk.at(LATER), instrument, got, passed=said)["passed"] is passed


@pytest.mark.parametrize(
    ("at", "in_check"),
    [("2027-02-07T08:00:00+01:00", "good"), ("2027-02-07T08:00:01+01:00", "unknown")],
)
def test_a_check_is_good_for_a_week(walk, instrument, at, in_check):
    assert walk.at(at).get(f"instruments/{instrument}")["instrument"]["in_check"] == in_check


def test_an_instrument_that_was_never_checked_is_unknown_and_no_reason_to_refuse(
    walk, container
):
    body = {"label": "S-9", "quantities": ["salinity"]}
    meter = walk.post(f"sites/{walk.site}/instruments", body)["instrument"]["uid"]

    (taken,) = read(walk, gravity(container, meter, quantity="salinity", value="33"))[
        "readings"
    ]

    assert (taken["in_doubt"], taken["in_check"]) == (False, "unknown")


def test_a_failed_check_names_the_moves_whose_water_it_read(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-01-05T07:00:00+00:00", containers=2, kits=2)
    batch = floor.place(5, "R1-01", "A-1", at="2027-01-05T08:00:00+00:00")
    moved = floor.move(batch, "R1-02", "B-1", [5], at="2027-01-07T08:00:00+00:00")

    failed = floor.walk.at("2027-01-07T09:00:00+00:00").post(
        f"instruments/{floor.uids['S-1']}/checks",
        {"standard": "35 ppt fluid", "expected": "35", "got": "31"},
    )

    assert len(failed["doubted"]["readings"]) == 3
    assert failed["doubted"]["moves"] == [moved["fact"]["uid"]]
    rules = {(one["rule"], one["batch"]) for one in failed["deviations"]}
    assert ("instrument_in_doubt", batch) in rules


def test_a_check_that_was_misread_doubts_nothing_once_it_is_corrected(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-01-05T07:00:00+00:00", containers=2, kits=2)
    batch = floor.place(5, "R1-01", "A-1", at="2027-01-05T08:00:00+00:00")
    failed = floor.walk.at("2027-01-05T09:00:00+00:00").post(
        f"instruments/{floor.uids['S-1']}/checks",
        {"standard": "35 ppt fluid", "expected": "35", "got": "35", "passed": False},
    )
    assert "instrument_in_doubt" in rules_of(floor, batch)

    floor.walk.post(
        f"facts/{failed['fact']['uid']}/corrections",
        {"field": "/passed", "new": True, "reason": "wrong fluid"},
    )

    assert "instrument_in_doubt" not in rules_of(floor, batch)
    readings = floor.walk.get(f"containers/{floor.uids['R1-01']}/readings")["readings"]
    assert {one["in_doubt"] for one in readings} == {False}
    instrument = floor.walk.get(f"instruments/{floor.uids['S-1']}")["instrument"]
    assert instrument["passed"] is True


def test_a_reading_that_was_mistyped_is_judged_as_it_is_corrected(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-01-05T07:00:00+00:00", containers=2, kits=2)
    batch = floor.place(5, "R1-01", "A-1", at="2027-01-05T08:00:00+00:00")
    here = f"containers/{floor.uids['R1-01']}/readings?quantity=salinity"
    (typed,) = floor.walk.get(here)["readings"]

    floor.walk.post(
        f"facts/{typed['uid']}/corrections",
        {"field": "/value", "new": "23.0", "reason": "misread"},
    )

    assert "out_of_range" in rules_of(floor, batch)
    (corrected,) = floor.walk.get(here)["readings"]
    assert (typed["value"], corrected["value"]) == ("33.0", "23.0")


def rules_of(floor, batch):
    return [one["rule"] for one in floor.batch(batch)["deviations"]]
