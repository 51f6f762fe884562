"""S-08: the same kit on both sides."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = datetime.fromisoformat("2027-02-04T09:00:00+01:00")
MOVED = datetime.fromisoformat("2027-02-07T08:00:00+01:00")
ASKED = datetime.fromisoformat("2027-02-10T07:40:00+01:00")


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), "2027-02-04T08:00:00+01:00", containers=5, kits=5)


@pytest.fixture
def batch(floor):
    """In R1-02 with kit A-3 since 7 Feb 08:00."""
    batch = floor.place(12, "R1-01", "B-1", at=PLACED)
    floor.move(batch, "R1-02", "A-3", [12], at=MOVED)
    return batch


@pytest.fixture
def refused(floor, batch):
    floor.read("R1-02", "R1-03", at=ASKED)
    return floor.refused_move(batch, "R1-03", "A-3", [12])


def test_s08_1_refused_with_where_and_since_when(floor, refused):
    assert (refused.status, refused.code) == (409, "kit_in_use")
    (reason,) = refused.body["reasons"]
    assert "A-3 is in use in R1-02 since Sun 7 Feb 2027 08:00 CET" in reason["text"]


def test_s08_1_ready_kits_are_named_instead(floor, refused):
    (reason,) = refused.body["reasons"]

    offered = [one["label"] for one in reason["instead"] if one["kind"] == "kit"]
    assert offered == ["A-1", "A-2", "B-2"]


def test_s08_2_the_rule_is_checked_again_at_confirmation(floor, batch):
    # The form was opened while B-2 was still on the shelf.
    floor.read("R1-02", "R1-03", at=ASKED)
    opened = floor.move_body(batch, "R1-03", "B-2", [12])
    answer = floor.walk.post(f"batches/{batch}/move-checks", opened)
    floor.place(5, "R1-04", "B-2", at=ASKED)

    refused = floor.walk.refused(f"batches/{batch}/moves", opened)

    assert answer["allowed"] is True
    assert (refused.status, refused.code) == (409, "kit_in_use")
    assert "R1-04" in refused.body["detail"]


def test_s08_3_the_kit_of_the_source_is_dirty_from_the_move_on(floor, batch):
    floor.move(batch, "R1-03", "A-1", [12], at=ASKED)

    left = floor.walk.get(f"kits/{floor.uids['A-3']}")

    assert (left["state"], left["since"]) == ("dirty", "2027-02-10T06:40:00Z")
    assert {one["state"] for one in left["pieces"]} == {"dirty"}
    (use,) = left["uses"]
    assert (use["container_label"], use["from"], use["to"]) == (
        "R1-02",
        "2027-02-07T07:00:00Z",
        "2027-02-10T06:40:00Z",
    )


def test_s08_3_so_is_the_container_they_left(floor, batch):
    late = ASKED + timedelta(minutes=5)
    floor.move(batch, "R1-03", "A-1", [12], at=ASKED)

    left = floor.walk.at(late).get(f"containers/{floor.uids['R1-02']}")

    assert (left["state"], left["since"]) == ("dirty", "2027-02-10T06:40:00Z")


def test_s08_the_kit_in_the_new_container_is_in_use(floor, batch):
    floor.move(batch, "R1-03", "A-1", [12], at=ASKED)

    taken = floor.walk.get(f"kits/{floor.uids['A-1']}")

    assert (taken["state"], taken["since"]) == ("in_use", "2027-02-10T06:40:00Z")
