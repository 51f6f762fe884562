"""Signs, incidents, contacts and holds over REST."""

import pytest

from stock.models import StayRow
from tests.make import make_batch, make_container, make_person, make_shop
from tests.walk import NOON, signed_in

pytestmark = pytest.mark.django_db

SIGN = {"signs": ["white spots"], "affected": 2}
JUMP = {"kind": "jump", "what": {"found": "floor", "lid": "shifted"}}


@pytest.fixture
def batch(shop):
    """Fourteen animals in R1-01."""
    return str(make_batch(shop, 14, container=make_container(shop, "R1-01")))


@pytest.fixture
def neighbour(shop):
    """Nine animals in R1-02."""
    return str(make_batch(shop, 9, container=make_container(shop, "R1-02")))


def container_of(batch):
    return str(StayRow.objects.get(batch=batch).container_id)


# -- Signs -----------------------------------------------------------------------------------


def test_a_sign_on_some_makes_all_suspected(walk, batch):
    answer = walk.post(f"batches/{batch}/signs", SIGN)

    assert [one["state"] for one in answer["batches"]] == ["suspected"]
    assert [one["rule"] for one in answer["deviations"]] == ["sign_seen"]
    assert answer["exposures"] == []


def test_a_sign_on_more_than_there_are_is_refused(walk, batch):
    problem = walk.refused(f"batches/{batch}/signs", {**SIGN, "affected": 15})

    assert (problem.status, problem.code) == (409, "too_few_alive")
    assert problem.body["detail"] == "R1-01 has 14 alive; you entered 15."


def test_a_sign_shows_by_which_contacts_it_may_have_come(walk, batch, neighbour):
    contact = {"from": neighbour, "to": container_of(batch), "way": "tool"}
    walk.post("contacts", contact)

    answer = walk.post(f"batches/{batch}/signs", SIGN)

    (exposure,) = answer["exposures"]
    assert (exposure["source"], exposure["way"], exposure["grade"]) == (
        neighbour,
        "tool",
        "likely",
    )


# -- Contacts --------------------------------------------------------------------------------


def test_a_contact_is_a_question_for_whoever_was_touched(walk, batch, neighbour):
    contact = {"from": container_of(neighbour), "to": container_of(batch), "way": "splash"}

    answer = walk.post("contacts", contact)

    assert {one["uid"] for one in answer["batches"]} == {batch, neighbour}
    assert [(one["batch"], one["rule"]) for one in answer["deviations"]] == [
        (batch, "splash_seen")
    ]
    assert [one["batch"] for one in answer["exposures"]] == [batch]


@pytest.mark.parametrize(
    ("change", "status", "code"),
    [
        ({"way": "magic"}, 400, "unreadable"),
        ({"to": "01950000-0000-7000-8000-000000000001"}, 404, "not_found"),
        ({"thing": "01950000-0000-7000-8000-000000000001"}, 404, "not_found"),
        ({"why": "x"}, 400, "unknown_field"),
    ],
)
def test_a_contact_that_cannot_be_is_refused(walk, batch, neighbour, change, status, code):
    contact = {"from": neighbour, "to": batch, "way": "tool"}

    problem = walk.refused("contacts", contact | change)

    assert (problem.status, problem.code) == (status, code)


def test_nothing_touches_itself(walk, batch):
    problem = walk.refused("contacts", {"from": batch, "to": batch, "way": "hands"})

    assert (problem.status, problem.body["reasons"][0]["pointer"]) == (400, "/to")


# -- Incidents -------------------------------------------------------------------------------


@pytest.mark.parametrize("named", ["batch", "container"])
def test_an_incident_changes_no_count(walk, batch, named):
    uid = {"batch": batch, "container": container_of(batch)}[named]

    answer = walk.post("incidents", {named: uid, **JUMP})

    assert answer["fact"]["kind"] == "incident_recorded"
    assert [one["uid"] for one in answer["batches"]] == [batch]
    assert answer["batches"][0]["counts"]["alive"] == 14


def test_a_loss_may_name_the_incident_it_came_of(walk, batch):
    incident = walk.post("incidents", {"batch": batch, **JUMP})["incident"]["uid"]
    line = {"batch": batch, "fate": "dead", "count": 1, "cause": ["jump"], "incident": incident}

    answer = walk.post("losses", {"lines": [line]})

    assert answer["losses"][0]["incident"] == incident


def test_an_incident_happens_somewhere(walk):
    problem = walk.refused("incidents", JUMP)

    assert (problem.status, problem.code) == (400, "unreadable")


# -- Holds -----------------------------------------------------------------------------------


@pytest.fixture
def hold(walk, batch):
    return walk.post(f"batches/{batch}/holds", {"why": "supplier recall"})["hold"]["uid"]


def test_a_hold_stands_until_it_is_lifted(walk, batch, hold):
    held = walk.get(f"batches/{batch}")["batch"]["holds"]

    lifted = walk.post(f"holds/{hold}/liftings", {"why": "recall withdrawn"})

    assert [one["why"] for one in held] == ["supplier recall"]
    assert lifted["hold"]["lifted_at"] == NOON
    assert lifted["batch"]["holds"] == []


def test_a_hold_is_lifted_once(walk, hold):
    walk.post(f"holds/{hold}/liftings", {"why": "recall withdrawn"})

    problem = walk.refused(f"holds/{hold}/liftings", {"why": "again"})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize(
    ("role", "status"),
    [("manager", 201), ("veterinarian", 201), ("keeper", 403), ("auditor", 403)],
)
def test_who_places_and_lifts_holds(client, shop, batch, hold, role, status):
    other = signed_in(client, shop, make_person(shop, "Ola", role))

    placed = other.send("POST", f"batches/{batch}/holds", {"why": "look closer"})
    lifted = other.send("POST", f"holds/{hold}/liftings", {"why": "looked"})

    assert (placed.status_code, lifted.status_code) == (status, status)


def test_the_hold_of_another_shop_is_not_found(client, hold):
    other = make_shop()

    problem = signed_in(client, other, other.manager).refused(
        f"holds/{hold}/liftings", {"why": "mine now"}
    )

    assert problem.status == 404
