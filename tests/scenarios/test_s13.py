"""S-13: the refractometer was wrong for six days."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.floor import Floor
from tests.scenarios.test_s20 import read

CHECKED = datetime.fromisoformat("2027-01-31T08:00:00+01:00")
PLACED = CHECKED + timedelta(hours=1)
MOVED = PLACED + timedelta(hours=70)
FAILED = datetime.fromisoformat("2027-02-06T08:00:00+01:00")


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), CHECKED.isoformat(), containers=3, kits=2)
    body = {"label": "R-2", "quantities": ["specific_gravity"], "convention": "25/25"}
    made = floor.walk.post(f"sites/{floor.walk.site}/instruments", body)
    floor.uids["R-2"] = made["instrument"]["uid"]
    check(floor, "1.0264")
    return floor


def check(floor, got):
    body = {"standard": "35 ppt fluid", "expected": "1.0264", "got": got}
    return floor.walk.post(f"instruments/{floor.uids['R-2']}/checks", body)


@pytest.fixture
def moved(floor):
    """Both sides of the move were read with R-2; the batch was placed by another one."""
    batch = floor.place(10, "R1-01", "A-1", at=PLACED)
    read(floor, "R1-01", "1.0250", "25.6", MOVED)
    read(floor, "R1-02", "1.0252", "25.6", MOVED)
    return floor.move(batch, "R1-02", "B-1", [10], at=MOVED, read=False)


@pytest.fixture
def failed(floor, moved):
    floor.walk.at(FAILED)
    return check(floor, "1.0235")


def test_s13_1_not_usable_until_a_good_check(floor, failed):
    reading = {
        "container": floor.uids["R1-02"],
        "quantity": "specific_gravity",
        "value": "1.0250",
        "unit": "1",
        "instrument": floor.uids["R-2"],
    }

    problem = floor.walk.refused("readings", {"readings": [reading]})
    check(floor, "1.0264")

    assert (problem.status, problem.code) == (409, "instrument_failed")
    assert floor.walk.post("readings", {"readings": [reading]})["readings"][0]["in_check"]


def test_s13_2_what_was_read_since_is_in_doubt_and_keeps_its_values(floor, failed):
    here = f"containers/{floor.uids['R1-01']}/readings?quantity=specific_gravity"
    (reading,) = floor.walk.get(here)["readings"]

    assert len(failed["doubted"]["readings"]) == 2
    assert (reading["value"], reading["in_doubt"]) == ("1.0250", True)


def test_s13_3_the_move_is_to_be_reviewed(floor, moved, failed):
    tasks = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]

    assert failed["doubted"]["moves"] == [moved["fact"]["uid"]]
    assert [one["batch"] for one in tasks if one["what"] == "review_match"] == [
        moved["batch"]["uid"]
    ]


def test_s13_3_difference_and_range_are_judged_apart(failed):
    (doubt,) = [one for one in failed["deviations"] if one["rule"] == "instrument_in_doubt"]

    assert doubt["numbers"]["quantity"] == "salinity"
    assert (doubt["numbers"]["difference"], doubt["numbers"]["range"]) == ("holds", "in_doubt")


def test_s13_4_a_specific_gravity_names_its_instrument(floor):
    reading = {
        "container": floor.uids["R1-01"],
        "quantity": "specific_gravity",
        "value": "1.0250",
        "unit": "1",
    }

    problem = floor.walk.refused("readings", {"readings": [reading]})

    assert problem.body["reasons"][0]["pointer"] == "/readings/0/instrument"
