"""S-22: two shipments end up in one container."""

import pytest
from django.test import Client

from tests.floor import Floor

JOIN_AT = "2027-03-05T13:40:00+01:00"
LATER = "2027-03-05T15:00:00+01:00"


@pytest.fixture
def told(begun, db):
    return begun[0].again(), *begun[1:]


@pytest.fixture(scope="module")
def begun(kept_for_module):
    """Six on day six of their series; a helper puts four in with them."""
    floor = Floor.open(Client(), "2027-02-27T08:00:00+01:00", containers=5, kits=5)
    first = floor.place(6, "R1-01", "A-1", at="2027-02-27T09:00:00+01:00")
    floor.move(first, "R1-02", "B-1", [6], at="2027-03-02T08:00:00+01:00")
    floor.move(first, "R1-03", "A-2", [6], at="2027-03-04T09:00:00+01:00")
    floor.supplier = floor.walk.post("suppliers", {"name": "Reef Line"})["supplier"]["uid"]
    line = floor.receive(4, at="2027-03-05T13:00:00+01:00")
    floor.read("R1-03", at="2027-03-05T13:30:00+01:00")
    floor.walk.at(JOIN_AT)
    body = {
        "from": [{"line": line, "count": 4}],
        "container": floor.uids["R1-03"],
        "kit": None,
        "counts": [4],
        "protocol": "transfer-288@1",
        "performed_at": JOIN_AT,
        "standing": "happened",
    }
    return floor, first, line, floor.walk.post("batches", body)


def test_s22_two_shipments_in_one_container(told):
    floor, first, line, answer = told
    joined = answer["batch"]

    # S-22.1: what happened is a fact, and not a normal one; both origins are kept.
    assert (answer["fact"]["kind"], answer["fact"]["parked"]) == ("batch_placed", False)
    assert joined["counts"]["alive"] == 10
    assert len(joined["origins"]) == 2
    assert "joined_untreated" in {one["rule"] for one in joined["deviations"] if one["open"]}
    # S-22.2: one series ends, one new one for all; the limit is that of who was there.
    ended = floor.batch(first)
    assert (ended["past_series"][-1]["why"], ended["series"]) == ("joined", None)
    assert joined["series"]["started_at"] == "2027-03-05T12:40:00Z"
    assert joined["stay"]["limit"] == "2027-03-07T08:00:00Z"
    # S-22.3: what is claimed of the supplier stays with the line.
    lines = {one["line"]: one["count"] for one in joined["origins"]}
    assert lines[line] == 4


def test_s22_4_a_loss_of_who_cannot_be_told_apart_names_both_origins(told):
    floor, _, _, answer = told
    joined = answer["batch"]
    loss = {"batch": joined["uid"], "fate": "dead", "count": 1, "cause": ["unknown"]}

    lost = floor.walk.at(LATER).post("losses", {"lines": [loss]})["losses"][0]

    assert sorted(lost["origin"]) == sorted(one["line"] for one in joined["origins"])
    suppliers = floor.walk.get(f"sites/{floor.walk.site}/supplier-losses")["suppliers"]
    assert [(one["supplier"], one["lost"], one["undecided"]) for one in suppliers] == [
        ("Reef Line", 0, 1),
        ("Sample Atoll Export", 0, 1),
    ]


def test_s22_5_taking_them_out_again_brings_no_series_back(told):
    floor, _, _, answer = told
    joined = answer["batch"]["uid"]
    floor.read("R1-03", "R1-04", at=LATER)
    away = {"count": 4, "to_container": floor.uids["R1-04"], "kit": floor.uids["B-2"]}

    told_ = floor.walk.post(
        f"batches/{joined}/splits", {"parts": [{"count": 6}, away], "performed_at": LATER}
    )

    six, four = told_["children"]
    assert six["series"]["started_at"] == four["series"]["started_at"] == "2027-03-05T12:40:00Z"
    assert (six["series"]["moves"], four["series"]["moves"]) == (0, 1)


def test_s22_a_move_in_with_others_is_a_join_as_well(told):
    """Told as happened by somebody who did not know that others were there."""
    floor, _, _, answer = told
    other = floor.place(5, "R1-05", "A-3", at="2027-03-05T16:00:00+01:00")
    at = "2027-03-06T09:00:00+01:00"
    floor.read("R1-05", "R1-03", at=at)
    body = floor.move_body(other, "R1-03", "B-2", [5])

    told_ = floor.walk.post(
        f"batches/{other}/moves", {**body, "performed_at": at, "standing": "happened"}
    )

    assert told_["fact"]["parked"] is False
    assert told_["batch"]["counts"]["alive"] == 15
    assert told_["batch"]["series"]["started_at"] == "2027-03-05T15:00:00Z"
    assert told_["batch"]["stay"]["limit"] == "2027-03-07T08:00:00Z"
    assert floor.batch(other)["why"] == floor.batch(answer["batch"]["uid"])["why"] == "joined"
