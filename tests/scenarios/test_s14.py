"""S-14: one fish dies in the middle of a series."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-02-04T08:00:00+01:00"
MOVED = "2027-02-07T07:00:00+01:00"
ROUND = "2027-02-07T19:10:00+01:00"
FOUND = "2027-02-08T07:35:00+01:00"
REMOVED = "2027-02-08T07:40:00+01:00"
NEXT = "2027-02-09T18:00:00+01:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), PLACED, containers=3, kits=3)


@pytest.fixture
def batch(floor):
    batch = floor.place(24, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [24], at=MOVED)
    return batch


def lose(floor, batch, count, at=REMOVED, **more):
    line = {"batch": batch, "fate": "dead", "count": count, "cause": ["unknown"], **more}
    return floor.walk.at(at).post("losses", {"lines": [line], "performed_at": at})


@pytest.fixture
def told(floor, batch):
    return lose(floor, batch, 1, found_at=FOUND, last_seen_at=ROUND)


def tasks(floor, what):
    every = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    return [one for one in every if one["what"] == what]


def test_s14_1_alive_dead_and_arrived_add_up(floor, batch, told):
    counts = floor.batch(batch)["counts"]

    assert (counts["alive"], counts["dead"], counts["placed"]) == (23, 1, 24)


def test_s14_2_the_series_goes_on_and_the_limit_stays(floor, batch):
    before = floor.batch(batch)

    lose(floor, batch, 1)

    after = floor.batch(batch)
    assert after["stay"]["limit"] == before["stay"]["limit"] == "2027-02-10T06:00:00Z"
    assert (after["series"]["state"], after["series"]["moves"]) == ("unbroken", 1)
    assert after["past_series"] == []


def test_s14_3_found_and_last_seen_are_both_kept(told):
    (loss,) = told["losses"]

    assert (loss["last_seen_at"], loss["found_at"]) == (
        "2027-02-07T18:10:00Z",
        "2027-02-08T06:35:00Z",
    )
    assert told["fact"]["performed_at"] == "2027-02-08T06:40:00Z"


@pytest.fixture
def before_the_move(floor, told):
    """Both waters are read; the move is to come."""
    floor.read("R1-02", "R1-03", at=NEXT)
    return told


def test_s14_4_a_wrong_blind_count_is_asked_again_without_the_number(
    floor, batch, before_the_move
):
    problem = floor.refused_move(batch, "R1-03", "A-2", [24])

    assert (problem.status, problem.code) == (409, "count_again")
    assert "23" not in str(problem.body["reasons"])


def test_s14_5_the_right_count_moves_them(floor, batch, before_the_move):
    answer = floor.move(batch, "R1-03", "A-2", [23], at=NEXT, read=False)

    assert answer["batch"]["series"]["moves"] == 2
    assert answer["deviations"] == []


def test_s14_6_two_equal_wrong_counts_are_kept_and_become_a_question(
    floor, batch, before_the_move
):
    answer = floor.move(batch, "R1-03", "A-2", [24, 24], at=NEXT, read=False)

    assert [one["rule"] for one in answer["deviations"]] == ["count_differs"]
    assert answer["batch"]["counts"]["alive"] == 23
    entries = floor.walk.get(f"batches/{batch}/history")["entries"]
    assert entries[-1]["body"]["counts"] == [24, 24]


def test_s14_7_one_of_twenty_four_asks_for_no_water_test(floor, told):
    assert tasks(floor, "water_test") == []


def test_s14_8_a_second_loss_within_24_hours_asks_for_a_water_test(floor, batch, told):
    lose(floor, batch, 1, at="2027-02-09T07:35:00+01:00")

    (task,) = tasks(floor, "water_test")
    assert (task["batch"], task["first"]) == (batch, True)


def test_s14_9_a_second_loss_later_than_that_does_not(floor, batch, told):
    lose(floor, batch, 1, at="2027-02-09T07:35:01+01:00")

    assert tasks(floor, "water_test") == []


def test_s14_10_a_tenth_of_the_container_at_once_asks_for_a_water_test(floor, batch):
    lose(floor, batch, 3)

    assert len(tasks(floor, "water_test")) == 1
