"""S-11: a heater borrowed from a ready set at night."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = datetime.fromisoformat("2027-02-01T09:00:00+01:00")
FAILED = datetime.fromisoformat("2027-02-02T21:10:00+01:00")
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), PLACED.isoformat(), containers=2, kits=2)
    floor.uids["batch"] = floor.place(12, "R1-01", "A-1", at=PLACED)
    return floor


@pytest.fixture
def borrowed(floor):
    """The heater of B-1 takes the place of the one that failed."""
    return swap(floor, FAILED)


def swap(floor, now, **more):
    body = {
        "kit": floor.uids["A-1"],
        "container": floor.uids["R1-01"],
        "replaces": floor.pieces["A-1"][0],
        "replaced_is_defective": True,
        "performed_at": FAILED.isoformat(),
        **more,
    }
    return floor.walk.at(now).post(f"pieces/{floor.pieces['B-1'][0]}/fittings", body)


def read_cold(floor, value):
    reading = {
        "container": floor.uids["R1-01"],
        "quantity": "temperature",
        "value": value,
        "unit": "Cel",
        "instrument": floor.uids["T-1"],
    }
    return floor.walk.at(FAILED).post("readings", {"readings": [reading]})


def test_s11_1_the_heater_is_in_the_kit_and_was_in_that_water_from_then_on(floor, borrowed):
    heater = floor.walk.get(f"pieces/{floor.pieces['B-1'][0]}")

    assert (heater["state"], heater["piece"]["kit"]) == ("in_use", floor.uids["A-1"])
    assert [(one["container_label"], one["from"]) for one in heater["uses"]] == [
        ("R1-01", "2027-02-02T20:10:00Z")
    ]


def test_s11_2_the_other_kit_is_incomplete_until_a_ready_heater_is_in_it(floor, borrowed):
    assert floor.walk.get(f"kits/{floor.uids['B-1']}")["state"] == "incomplete"

    body = {"label": "H-30", "type": "heater"}
    new = floor.walk.post(f"sites/{floor.walk.site}/pieces", body)["piece"]["uid"]
    floor.walk.post(f"pieces/{new}/fittings", {"kit": floor.uids["B-1"]})
    dirty = floor.walk.get(f"kits/{floor.uids['B-1']}")["state"]
    floor.disinfect(new, at=FAILED + 2 * HOUR)
    floor.see_dry(new, at=FAILED + 3 * HOUR)
    ready = floor.walk.at(FAILED + 27 * HOUR).get(f"kits/{floor.uids['B-1']}")["state"]

    assert (dirty, ready) == ("dirty", "ready")


def test_s11_3_the_failed_heater_is_defective_and_goes_nowhere(floor, borrowed):
    failed = floor.pieces["A-1"][0]

    refused = floor.walk.refused(f"pieces/{failed}/fittings", {"kit": floor.uids["B-1"]})

    assert floor.walk.get(f"pieces/{failed}")["state"] == "defective"
    assert (refused.status, refused.code) == (409, "piece_defective")


@pytest.mark.parametrize(("value", "again"), [("23.9", True), ("24.0", False)])
def test_s11_4_too_cold_it_is_read_again_in_half_an_hour(floor, borrowed, value, again):
    read_cold(floor, value)

    tasks = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    due = [one["planned"] or one["limit"] for one in tasks if one["what"] == "reading"]
    assert due == (["2027-02-02T20:40:00Z"] if again else [])


def test_s11_5_the_trace_of_the_container_lists_the_heater_from_then_on(floor, borrowed):
    fittings = floor.walk.at(FAILED + 72 * HOUR).get(f"containers/{floor.uids['R1-01']}")[
        "fittings"
    ]

    heaters = [
        (one["label"], one["from"], one["to"]) for one in fittings if one["type"] == "heater"
    ]
    assert heaters == [
        ("A-1 heater", "2027-02-01T08:00:00Z", "2027-02-02T20:10:00Z"),
        ("B-1 heater", "2027-02-02T20:10:00Z", None),
    ]


def test_s11_told_late_every_use_of_the_other_kit_since_is_found_and_asked_about(floor):
    other = floor.place(5, "R1-02", "B-1", at=FAILED + HOUR)

    told = swap(floor, FAILED + 3 * HOUR, reason="Nobody wrote it down at night.")

    asked = {(one["batch"], one["rule"]) for one in told["deviations"] if one["open"]}
    assert (other, "kit_not_ready") in asked
    assert other in {one["uid"] for one in told["reached"]}
    assert floor.batch(other)["series"]["state"] == "unproven"
