"""Two people side by side make one move: both are named, and neither is a second person."""

import pytest
from django.test import Client

from stock.models import Fact
from tests.floor import Floor
from tests.make import make_shop
from tests.visit import Visit

PLACED = "2027-01-11T08:00:00+00:00"
AT = "2027-01-14T07:40:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.uids["Ada"] = floor.walk.as_person("Ada", "keeper").person
    floor.read("R1-01", "R1-02", at=AT)
    return floor


def test_both_are_in_the_fact_and_in_the_history(floor):
    batch = floor.uids["batch"]
    around = ["heater_steady", "lid_on"]
    beside = [floor.uids["Ada"], floor.walk.person]

    floor.move(batch, "R1-02", "B-1", [16, 16], at=AT, **{"with": beside}, around=around)

    body = Fact.objects.get(kind="batch_moved").body
    # Whoever did it is not beside themselves.
    assert body["with"] == [floor.uids["Ada"]]
    assert body["around"] == around
    visit = Visit.by(floor.walk.person, AT)
    assert "mara with Ada" in visit.read("history", batch)


def test_somebody_of_another_organisation_is_not_there(floor):
    stranger = str(make_shop().manager.uid)

    refused = floor.refused_move(
        floor.uids["batch"], "R1-02", "B-1", [16], **{"with": [stranger]}
    )

    assert (refused.status, refused.code) == (404, "not_found")


@pytest.mark.parametrize(("name", "value"), [("with", ["Ada"]), ("around", ["singing"])])
def test_what_cannot_be_read_is_refused_at_its_place(floor, name, value):
    refused = floor.refused_move(floor.uids["batch"], "R1-02", "B-1", [16], **{name: value})

    assert (refused.status, refused.code) == (400, "unreadable")
    assert refused.body["reasons"][0]["pointer"].startswith(f"/{name}")
