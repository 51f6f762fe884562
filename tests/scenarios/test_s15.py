"""S-15: a jumper found alive on the floor."""

import pytest
from django.test import Client

from tests.certified import kept
from tests.floor import Floor

READY, PLACED = "2027-02-12T08:00:00+01:00", "2027-02-12T09:00:00+01:00"
FOUND, TOLD = "2027-02-14T06:55:00+01:00", "2027-02-14T07:05:00+01:00"
SEEN = {"found": "under rack 3", "contact": "floor", "dust_on_gills": True, "swims": True}
JUMP = {"kind": "jumped", "performed_at": FOUND, "what": {**SEEN, "lid": "shifted"}}


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Nine in R1-01, seven beside them in R1-02, and nobody in R1-03."""
    with kept(django_db_blocker):
        floor = Floor.open(Client(), READY, containers=3, kits=3)
        nine = floor.place(9, "R1-01", "A-1", at=PLACED)
        seven = floor.place(7, "R1-02", "B-1", at=PLACED)
        yield floor, nine, seven


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(TOLD)
    return story[0]


@pytest.fixture
def nine(story):
    return story[1]


@pytest.fixture
def incident(floor):
    return floor.walk.post("incidents", {**JUMP, "container": floor.uids["R1-01"]})


def tasks(floor, what):
    every = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    return [one for one in every if one["what"] == what]


def test_s15_1_it_is_an_incident_and_no_loss(floor, nine, incident):
    counts = floor.batch(nine)["counts"]

    assert (counts["alive"], counts["dead"]) == (9, 0)
    assert incident["incident"]["what"]["dust_on_gills"] is True
    assert [one["uid"] for one in incident["batches"]] == [nine]


def test_s15_2_the_lid_is_fixed_before_the_light_goes_off(floor, incident):
    (lid,) = tasks(floor, "fix_lid")

    assert (lid["container"], lid["limit"]) == (floor.uids["R1-01"], "2027-02-14T19:00:00Z")


def test_s15_2_it_is_looked_at_again_at_half_past_seven_and_at_noon(floor, incident):
    planned = [one["planned"] for one in tasks(floor, "close_look")]
    look(floor, "2027-02-14T07:25:00+01:00")
    left = [one["planned"] for one in tasks(floor, "close_look")]

    assert planned == ["2027-02-14T06:30:00Z", "2027-02-14T11:00:00Z"]
    assert left == ["2027-02-14T11:00:00Z"]


def look(floor, at):
    """A round of the room, with this container looked at."""
    room = floor.walk.get(f"sites/{floor.walk.site}/rooms")["rooms"][0]["uid"]
    body = {"room": room, "looked_at": [floor.uids["R1-01"]], "exceptions": []}
    return floor.walk.at(at).post("rounds", body)


def test_s15_3_if_it_dies_the_loss_is_linked_and_the_incident_stays(floor, nine, incident):
    uid = incident["incident"]["uid"]
    line = {"batch": nine, "fate": "dead", "count": 1, "cause": ["jump"], "incident": uid}
    floor.walk.at("2027-02-14T11:00:00+01:00")
    lost = floor.walk.post("losses", {"lines": [line]})
    history = floor.walk.get(f"batches/{nine}/history")["entries"]

    assert lost["losses"][0]["incident"] == uid
    assert (lost["batches"][0]["counts"]["alive"], lost["batches"][0]["counts"]["dead"]) == (
        8,
        1,
    )
    assert uid in [one["uid"] for one in history]
    assert tasks(floor, "close_look") == []


def test_s15_4_where_nobody_is_sure_all_within_reach_are_counted_first(floor, story):
    _, nine, seven = story
    unsure = {**JUMP, "container": floor.uids["R1-01"], "container_unsure": True}

    problem = floor.walk.refused("incidents", unsure)
    floor.walk.post(f"batches/{nine}/counts", {"counts": [9]})
    still = floor.walk.refused("incidents", unsure)
    floor.walk.post(f"batches/{seven}/counts", {"counts": [7]})
    accepted = floor.walk.post("incidents", unsure)

    (reason,) = problem.body["reasons"]
    assert (problem.status, reason["code"], reason["rule"]) == (
        409,
        "not_counted",
        "container_unsure",
    )
    assert [one["label"] for one in reason["instead"]] == ["R1-01", "R1-02"]
    assert [one["label"] for one in still.body["reasons"][0]["instead"]] == ["R1-02"]
    assert accepted["incident"]["what"]["container_unsure"] is True
