"""S-07: white spots in observation."""

from datetime import datetime

import pytest
from django.test import Client

from tests.certified import kept, move_on, open_floor
from tests.working import notices, sweep, task, tasks

PLACED = datetime.fromisoformat("2027-01-22T09:00:00+01:00")
COMPLETED = "2027-02-03T08:00:00Z"
SIGN_AT = "2027-02-12T07:45:00+01:00"
LATER = "2027-02-12T08:30:00+01:00"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """A series of four stays of 72 h, complete on Wed 3 Feb 09:00, and spots after 214:45."""
    with kept(django_db_blocker):
        floor = open_floor(Client(), PLACED)
        keeper = floor.walk.as_person("Nia", "keeper")
        batch = floor.place(14, "R1-01", "A-1", at=PLACED)
        move_on(floor, batch, 14, (72, 144, 216, 288), placed=PLACED)
        before = floor.batch(batch)
        told = {"from": floor.uids["R1-06"], "to": batch, "way": "tool"}
        keeper.at("2027-02-05T12:00:00+01:00").post("contacts", told)
        body = {"signs": ["white spots"], "affected": 2, "note": "breathing normal"}
        sign = keeper.at(SIGN_AT).post(f"batches/{batch}/signs", body)
        yield floor, keeper, batch, before, sign


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    floor = story[0]
    floor.walk.at(LATER)
    return floor


@pytest.fixture
def keeper(story):
    return story[1].at(LATER)


@pytest.fixture
def batch(story):
    return story[2]


@pytest.fixture
def before(story):
    return story[3]


@pytest.fixture
def sign(story):
    return story[4]


@pytest.fixture
def other(floor):
    """A second keeper, who was not there."""
    return floor.walk.as_person("Ben", "keeper")


def test_s07_1_the_observation_stops_at_the_sign(floor, batch, before):
    now = floor.batch(batch)

    assert before["observation"]["started_at"] == COMPLETED
    assert now["state"] == "suspected"
    assert now["observation"]["state"] == "stopped"
    assert now["observation"]["elapsed_text"] == "214:45"


def test_s07_1_after_the_sign_is_confirmed_nothing_counts_until_the_next_series(
    floor, other, batch, sign
):
    other.post(f"facts/{sign['fact']['uid']}/confirmations")

    now = floor.batch(batch)
    assert now["series"]["state"] == "waiting"
    assert now["past_series"][-1]["why"] == "sign"
    assert now["observation"] is None
    assert now["stay"]["limit"] is None


def test_s07_2_all_of_the_batch_are_affected(floor, batch, sign):
    assert [one["uid"] for one in sign["batches"]] == [batch]
    assert sign["batches"][0]["counts"]["alive"] == 14
    assert floor.batch(batch)["state"] == "suspected"


def test_s07_3_it_is_neither_certified_nor_sold(floor, batch):
    check = floor.walk.get(f"batches/{batch}/certificate-check")
    buyer = {"count": 2, "buyer": "Harbour Reef Shop"}
    sold = floor.walk.refused(f"batches/{batch}/dispatches", buyer)

    assert not check["may_be_issued"]
    assert "sign_seen" in {one["rule"] for one in check["reasons"] if one["blocks"]}
    assert sold.status == 409


@pytest.mark.xfail(strict=True, reason="reservations come with the planning of sales")
def test_s07_3_a_reservation_is_told_of_the_delay_without_a_date(floor, batch):
    answer = floor.walk.send("POST", f"batches/{batch}/reservations", {"count": 2})

    assert answer.status_code == 201


def test_s07_4_a_second_person_looks_closely(floor, keeper, other, batch):
    look = task(floor.walk, "close_look", batch=batch)

    own = keeper.refused(f"tasks/{look['uid']}/takers")
    taken = other.post(f"tasks/{look['uid']}/takers")["task"]

    assert tasks(floor.walk)[0]["first"]
    assert (own.status, own.code) == (403, "own_action")
    assert (taken["state"], taken["taken_by"]) == ("taken", other.person)


def test_s07_4_the_look_is_done_once_a_second_person_has_told_what_they_saw(
    floor, other, batch, sign
):
    answer = other.post(f"facts/{sign['fact']['uid']}/confirmations")

    looks = [one for one in answer["tasks_changed"] if one["what"] == "close_look"]
    assert [one["state"] for one in looks] == ["done"]
    assert tasks(floor.walk, "close_look") == []


def test_s07_4_what_touched_it_since_is_listed(floor, batch, sign):
    listed = [(one["source"], one["way"]) for one in sign["exposures"]]

    assert listed == [(floor.uids["R1-06"], "tool")]


def test_s07_5_one_person_alone_does_not_take_the_sign_back(floor, keeper, batch, sign):
    fact = sign["fact"]["uid"]

    keeper.post(f"facts/{fact}/withdrawals", {"reason": "was sand"})

    assert floor.batch(batch)["state"] == "suspected"
    assert len(tasks(floor.walk, "close_look")) == 1


def test_s07_5_taken_back_by_a_second_person_the_observation_goes_on(
    floor, other, batch, before, sign
):
    fact = sign["fact"]["uid"]
    without = other.refused(f"facts/{fact}/withdrawals")

    answer = other.post(f"facts/{fact}/withdrawals", {"reason": "was sand"})

    now = floor.batch(batch)
    assert without.code == "reason_missing"
    assert (now["state"], now["observation"]["state"]) == ("observation", "running")
    assert now["observation"]["ends_at"] == before["observation"]["ends_at"]
    assert now["observation"]["ends_at"] == "2027-02-17T08:00:00Z"
    looks = [one for one in answer["tasks_changed"] if one["what"] == "close_look"]
    assert [one["state"] for one in looks] == ["done"]


def test_s07_5_the_episode_stays_in_the_history(floor, other, batch, sign):
    fact = sign["fact"]["uid"]
    other.post(f"facts/{fact}/withdrawals", {"reason": "was sand"})

    entries = floor.walk.get(f"batches/{batch}/history")["entries"]

    assert fact in [one["uid"] for one in entries]


def test_s07_6_nothing_is_announced_where_no_limit_runs(floor, batch):
    sweep(floor.walk, "2027-02-13T09:00:00+01:00")

    assert notices(floor.walk, batch=batch, what="move") == []
