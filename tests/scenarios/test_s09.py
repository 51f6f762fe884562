"""S-09: nineteen hours dry instead of twenty-four."""

from datetime import datetime

import pytest
from django.test import Client

from tests.floor import Floor

# Its limit is Sat 16 Jan 16:00.
PLACED = datetime.fromisoformat("2027-01-13T16:00:00+01:00")
DISINFECTED = datetime.fromisoformat("2027-01-15T10:20:00+01:00")
DRY = datetime.fromisoformat("2027-01-15T15:30:00+01:00")
BEGUN = datetime.fromisoformat("2027-01-16T10:30:00+01:00")
READY = datetime.fromisoformat("2027-01-16T15:30:00+01:00")


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), "2027-01-13T15:00:00+01:00", containers=3, kits=6)


@pytest.fixture
def batch(floor):
    batch = floor.place(9, "R1-01", "A-1", at=PLACED)
    floor.disinfect("B-3", at=DISINFECTED)
    floor.see_dry("B-3", at=DRY)
    return batch


@pytest.fixture
def refused(floor, batch):
    floor.read("R1-01", "R1-02", at=BEGUN)
    return floor.refused_move(batch, "R1-02", "B-3", [9])


def test_s09_1_refused_with_the_hours_it_was_dry_and_those_it_needs(refused):
    assert (refused.status, refused.code) == (409, "kit_not_ready")
    (reason,) = refused.body["reasons"]
    assert "Dry for 19:00 of 24:00" in reason["text"]
    assert (reason["numbers"]["dry_s"], reason["numbers"]["needed_s"]) == (19 * 3600, 86400)


def test_s09_1_ready_half_an_hour_before_the_limit(refused):
    (reason,) = refused.body["reasons"]

    assert "Ready Sat 16 Jan 2027 15:30 CET, 0:30 before the limit" in reason["text"]
    assert reason["numbers"]["ready_at"] == "2027-01-16T14:30:00Z"
    assert reason["numbers"]["before_limit_s"] == 1800


def test_s09_2_another_ready_kit_or_the_last_half_hour_is_offered(refused):
    (reason,) = refused.body["reasons"]

    offered = [one["label"] for one in reason["instead"] if one["kind"] == "kit"]
    assert offered == ["A-2", "A-3", "B-1", "B-2"]
    (later,) = [one for one in reason["instead"] if one["kind"] == "move"]
    assert (later["from"], later["to"]) == ("2027-01-16T14:30:00Z", "2027-01-16T15:00:00Z")


def test_s09_2_the_move_goes_on_when_the_kit_is_ready(floor, batch):
    floor.move(batch, "R1-02", "B-3", [9], at=READY)

    series = floor.batch(batch)["series"]
    assert (series["moves"], series["state"]) == (1, "unbroken")


def test_s09_3_the_hours_begin_when_it_was_seen_dry(floor, batch):
    kit = floor.walk.at(BEGUN).get(f"kits/{floor.uids['B-3']}")

    assert (kit["state"], kit["since"]) == ("drying", "2027-01-15T14:30:00Z")
    assert kit["ready_at"] == "2027-01-16T14:30:00Z"


def test_s09_4_no_timer_makes_it_ready(floor, batch):
    floor.disinfect("A-2", at=DRY)

    weeks_later = floor.walk.at("2027-02-15T08:00:00+01:00").get(f"kits/{floor.uids['A-2']}")

    assert (weeks_later["state"], weeks_later["ready_at"]) == ("disinfected", None)
