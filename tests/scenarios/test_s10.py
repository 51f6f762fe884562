"""S-10: disinfected, but nobody wrote "dry"."""

import pytest
from django.test import Client

from tests.equipment import on_shift
from tests.floor import Floor

CLEANED = "2027-01-18T09:15:00+01:00"
LOOKED = "2027-01-20T07:20:00+01:00"
YESTERDAY = "2027-01-19T08:00:00+01:00"
LATE = {"performed_at": YESTERDAY, "reason": "I forgot to write it down."}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), "2027-01-18T08:00:00+01:00", containers=2, kits=1, ready=False)
    floor.disinfect("R1-01", "R1-02", at="2027-01-18T08:30:00+01:00")
    floor.see_dry("R1-01", "R1-02", at="2027-01-18T08:40:00+01:00")
    floor.disinfect("A-1", at=CLEANED)
    floor.walk.at(LOOKED)
    return floor


def kit(floor, at=LOOKED):
    return floor.walk.at(at).get(f"kits/{floor.uids['A-1']}")


def say_dry(walk, floor, **more):
    return walk.post("dry-sightings", {"subjects": floor.pieces["A-1"], **more})


@pytest.fixture
def told_late(floor):
    on_shift(floor.walk, "2027-01-19T07:00:00+01:00", "2027-01-19T15:00:00+01:00")
    return say_dry(floor.walk, floor, **LATE)


def test_s10_1_after_46_hours_it_is_disinfected_and_not_seen_dry(floor):
    found = kit(floor)

    assert (found["state"], found["ready_at"]) == ("disinfected", None)
    assert {one["numbers"]["since_s"] for one in found["why"]} == {46 * 3600 + 5 * 60}


def test_s10_1_its_use_is_refused(floor):
    floor.read("R1-01", at=LOOKED)
    line = floor.receive(5, at=LOOKED)
    body = {
        "from": [{"line": line, "count": 5}],
        "container": floor.uids["R1-01"],
        "kit": floor.uids["A-1"],
        "counts": [5],
    }

    refused = floor.walk.refused("batches", body)

    assert (refused.status, refused.code) == (409, "kit_not_ready")


def test_s10_2_dry_now_makes_it_ready_tomorrow(floor):
    say_dry(floor.walk, floor)

    assert (kit(floor)["state"], kit(floor)["ready_at"]) == ("drying", "2027-01-21T06:20:00Z")
    assert kit(floor, "2027-01-21T07:20:00+01:00")["state"] == "ready"


def test_s10_3_dry_yesterday_is_believed_only_of_who_was_on_shift(floor):
    refused = floor.walk.refused("dry-sightings", {"subjects": floor.pieces["A-1"], **LATE})

    assert (refused.status, refused.code) == (409, "not_on_shift")


def test_s10_3_until_a_second_person_confirms_it_counts_from_when_it_was_told(floor, told_late):
    before = kit(floor)
    other = floor.walk.as_person("Ola", "keeper").at(LOOKED)
    other.post(f"facts/{told_late['fact']['uid']}/confirmations")

    assert (before["state"], before["ready_at"]) == ("drying", "2027-01-21T06:20:00Z")
    assert kit(floor)["ready_at"] == "2027-01-20T07:00:00Z"
    assert kit(floor, "2027-01-20T08:00:00+01:00")["state"] == "ready"


def test_s10_3_it_is_in_the_report_of_what_was_told_late(floor, told_late):
    other = floor.walk.as_person("Ola", "keeper").at(LOOKED)
    span = "from=2027-01-01T00:00:00Z&to=2027-02-01T00:00:00Z"
    address = f"sites/{floor.walk.site}/late-entries?{span}"

    (before,) = floor.walk.get(address)["people"]
    other.post(f"facts/{told_late['fact']['uid']}/confirmations")
    (after,) = floor.walk.get(address)["people"]

    assert (before["name"], before["month"], before["waiting"]) == ("mara", "2027-01", 1)
    (entry,) = after["entries"]
    assert (entry["gap_s"], entry["reason"]) == (23 * 3600 + 20 * 60, LATE["reason"])
    assert [one["name"] for one in entry["confirmed"]] == ["Ola"]


def test_s10_3_nobody_confirms_what_they_said_themselves(floor, told_late):
    refused = floor.walk.refused(f"facts/{told_late['fact']['uid']}/confirmations")

    assert (refused.status, refused.code) == (403, "own_action")


def test_s10_4_the_parts_that_stay_wet_longest_are_listed(floor):
    assert [one["type"] for one in kit(floor)["look_first"]] == ["air_line"]
