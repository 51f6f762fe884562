"""S-34: two workers tell the same move, each on a tablet."""

from dataclasses import replace

import pytest
from django.test import Client

from tests.floor import Floor
from tests.tablet import Tablet

PLACED = "2027-03-01T09:00:00+01:00"
AT = "2027-03-04T08:52:10+01:00"
THEN = "2027-03-04T08:52:12+01:00"


@pytest.fixture
def rack(begun, db):
    floor, batch, one, two = begun
    return floor.again(), batch, one.again(), two.again()


@pytest.fixture(scope="module")
def begun(kept_for_module):
    """Fifteen in R1-01, to be moved into R1-02; two workers stand there."""
    floor = Floor.open(Client(), "2027-03-01T08:00:00+01:00", containers=2, kits=2)
    batch = floor.place(15, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", "R1-02", at="2027-03-04T08:40:00+01:00")
    one, two = (floor.walk.as_person(name, "keeper") for name in ("Ada", "Ben"))
    return floor, batch, one, two


def told(floor, batch, count, at, **more):
    return {**floor.move_body(batch, "R1-02", "B-1", [count]), "performed_at": at, **more}


def open_moves(walk):
    tasks = walk.get(f"tasks?site={walk.site}")["tasks"]
    return [one["key"] for one in tasks if one["what"] == "move" and one["state"] == "open"]


def test_s34_one_move_and_the_second_is_shown_the_first(rack):
    floor, batch, one, two = rack
    path, same = f"batches/{batch}/moves", told(floor, batch, 15, AT)
    other = {**same, "performed_at": THEN, "counts": [14, 14]}

    first = one.at(AT).post(path, same)
    again = two.at(THEN).refused(path, {**same, "performed_at": THEN})
    differs = two.refused(path, other)

    # S-34.1: one move; the second gets the record: who, when, how many, with which kit.
    assert (again.status, again.code) == (409, "stay_ended")
    assert again.body["existing"]["uid"] == first["fact"]["uid"]
    assert again.body["existing"]["doer"] == one.person
    assert again.body["existing"]["kit"] == floor.uids["B-1"]
    assert again.body["existing"]["performed_at"] == "2027-03-04T07:52:10Z"
    # S-34.2: where her data differ she sees both, and nothing is overwritten.
    assert differs.body["existing"]["counts"] == [15]
    assert differs.body["yours"]["counts"] == [14, 14]
    found = floor.batch(batch, THEN)
    assert (found["counts"]["alive"], found["series"]["moves"]) == (15, 1)
    # S-34.4: the lists of both tablets agree.
    assert open_moves(one.at(THEN)) == open_moves(two.at(THEN))


def test_s34_told_as_done_both_accounts_are_kept_and_a_manager_who_told_neither_decides(rack):
    floor, batch, one, two = rack
    path, done = f"batches/{batch}/moves", {"standing": "happened"}
    first = one.at(AT).post(path, told(floor, batch, 15, AT))
    stay = {"ended_stay": first["move"]["ended_stay"]}
    body = {**told(floor, batch, 14, THEN), **stay, **done}

    second = two.at(THEN).post(path, body)["fact"]["uid"]

    found = floor.batch(batch, THEN)
    assert "two_accounts" in {one["rule"] for one in found["deviations"] if one["open"]}
    assert (found["counts"]["alive"], found["counts"]["unaccounted"]) == (14, 1)
    assert (found["series"]["state"], found["series"]["moves"]) == ("unproven", 1)
    choice = {"accepted": first["fact"]["uid"], "reason": "Counted with both of them."}
    decisions = f"facts/{second}/account-decisions"
    boss = replace(floor.walk)
    assert two.refused(decisions, choice).code == "wrong_role"
    boss.at(THEN).post(decisions, choice)
    after = floor.batch(batch, THEN)
    assert (after["counts"]["alive"], after["counts"]["unaccounted"]) == (15, 0)
    assert after["series"]["state"] == "unbroken"


def test_s34_two_tablets_without_network_tell_it_differently_and_both_are_kept(rack):
    floor, batch, one, two = rack
    floor.walk.at("2027-03-04T08:51:00+01:00")
    first, second = (Tablet.of(floor, label) for label in ("Tablet 1", "Tablet 2"))
    fields = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "ended_stay": floor.batch(batch)["stay"]["uid"],
    }
    sent = {"at": "2027-03-04T10:00:00+01:00"}

    # The later press arrives first.
    late = second.send("move", batch, by=two.person, pressed=THEN, count="14", **fields, **sent)
    early = first.send("move", batch, by=one.person, pressed=AT, count="15", **fields, **sent)

    assert (late["answer"], early["answer"]) == ("stored", "stored")
    assert "two_accounts" in {one["rule"] for one in early["deviations"]}
    found = floor.batch(batch, sent["at"])
    assert (found["series"]["state"], found["series"]["moves"]) == ("unproven", 1)
