"""S-21: twelve tangs are split after aggression."""

import pytest
from django.test import Client

from tests.floor import Floor

SPLIT_AT = "2027-02-14T11:00:00+01:00"


@pytest.fixture(scope="module")
def tangs(kept_for_module):
    """Twelve, placed on a Wednesday and moved on the Saturday."""
    floor = Floor.open(Client(), "2027-02-10T07:00:00+01:00", containers=4, kits=4)
    batch = floor.place(12, "R1-01", "A-1", at="2027-02-10T08:00:00+01:00")
    floor.move(batch, "R1-02", "B-1", [12], at="2027-02-13T07:30:00+01:00")
    floor.read("R1-02", "R1-03", at=SPLIT_AT)
    return floor, batch


def parts(floor: Floor, stay: int, go: int, kit: str = "A-2") -> dict[str, object]:
    elsewhere = {"to_container": floor.uids["R1-03"], "kit": floor.uids[kit]}
    return {
        "parts": [{"count": stay}, {"count": go, **elsewhere}],
        "performed_at": SPLIT_AT,
    }


@pytest.fixture
def floor_and_batch(tangs, db):
    return tangs[0].again(), tangs[1]


def test_s21_the_aggressors_are_set_apart(floor_and_batch):
    floor, batch = floor_and_batch

    told = floor.walk.post(f"batches/{batch}/splits", parts(floor, 9, 3))
    nine, three = (floor.batch(one["uid"]) for one in told["children"])

    # S-21.1: two batches, both with supplier, intake, move 1 and all readings.
    assert [one["counts"]["alive"] for one in (nine, three)] == [9, 3]
    assert nine["origins"] == three["origins"] == floor.batch(batch)["origins"]
    stays = [floor.walk.get(f"batches/{one['uid']}/history")["stays"] for one in (nine, three)]
    assert stays[0][0] == stays[1][0]
    assert stays[0][0]["verdict"] == "on_time"
    # S-21.2: the three have moved, the nine have not.
    assert three["stay"]["limit"] == "2027-02-17T10:00:00Z"
    assert nine["stay"]["limit"] == "2027-02-16T06:30:00Z"
    assert stays[1][1]["stay_text"] == "27:30"
    # S-21.3: one earliest end, two counts of moves.
    assert {one["series"]["earliest_end"] for one in (nine, three)} == {"2027-02-22T07:00:00Z"}
    assert [one["series"]["moves"] for one in (nine, three)] == [1, 2]
    # The batch they came out of is closed, and holds nobody.
    before = floor.batch(batch)
    assert (before["state"], before["why"], before["counts"]["alive"]) == ("closed", "split", 0)


def test_s21_4_a_kit_that_was_not_ready_is_asked_of_the_three_alone(floor_and_batch):
    floor, batch = floor_and_batch
    body = {**parts(floor, 9, 3, kit="A-1"), "standing": "happened"}

    told = floor.walk.post(f"batches/{batch}/splits", body)

    asked = [
        {one["rule"] for one in floor.batch(child["uid"])["deviations"] if one["open"]}
        for child in told["children"]
    ]
    assert asked == [set(), {"kit_not_ready"}]


@pytest.mark.parametrize(("stay", "go", "code"), [(9, 4, "split_sum"), (12, 0, "not_positive")])
def test_s21_5_more_than_there_are_or_nobody_is_refused(floor_and_batch, stay, go, code):
    floor, batch = floor_and_batch

    refused = floor.walk.refused(f"batches/{batch}/splits", parts(floor, stay, go))

    assert refused.code == code
    assert floor.batch(batch)["state"] == "moves"
