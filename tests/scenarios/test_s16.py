"""S-16: one fish missing, no body."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-02-11T13:00:00+01:00"
FIRST = "2027-02-14T12:00:00+01:00"
SECOND = "2027-02-17T09:00:00+01:00"
TWO_DAYS_LATER = "2027-02-19T09:00:00+01:00"
REASON = {"count": 1, "reason": "Filter opened, floor searched, no body."}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), PLACED, containers=3, kits=3)


@pytest.fixture
def batch(floor):
    """Twelve in R1-02, in their second stay."""
    batch = floor.place(12, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [12], at=FIRST)
    return batch


@pytest.fixture
def moved(floor, batch):
    """The second move, in which one was not found."""
    return floor.move(batch, "R1-03", "A-2", [11], at=SECOND, missing=1)


@pytest.fixture
def missing(moved):
    """Who was missed by a move is named by the fact of the move."""
    return moved["fact"]["uid"]


def tasks(floor, what):
    every = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    return [one for one in every if one["what"] == what]


def test_s16_1_eleven_alone_are_not_taken(floor, batch):
    floor.read("R1-02", "R1-03", at=SECOND)

    problem = floor.refused_move(batch, "R1-03", "A-2", [11])

    assert (problem.status, problem.code) == (409, "count_again")


def test_s16_2_eleven_and_one_not_found_are_and_nobody_is_dead(moved):
    counts = moved["batch"]["counts"]

    assert (counts["alive"], counts["unaccounted"], counts["dead"]) == (11, 1, 0)
    assert moved["deviations"] == []


def test_s16_3_the_old_container_is_to_be_searched(floor, moved):
    (task,) = tasks(floor, "search")

    assert task["container"] == floor.uids["R1-02"]


@pytest.mark.parametrize("subject", ["R1-02", "B-1"])
def test_s16_4_until_then_neither_container_nor_kit_is_disinfected(floor, moved, subject):
    with pytest.raises(AssertionError) as refused:
        floor.disinfect(subject, at="2027-02-17T11:00:00+01:00")

    assert (refused.value.status, refused.value.code) == (409, "not_searched")


def test_s16_5_once_searched_they_may_be(floor, moved):
    at = "2027-02-17T09:30:00+01:00"
    emptied = {"searched": True, "performed_at": at}
    floor.walk.at(at).post(f"containers/{floor.uids['R1-02']}/emptyings", emptied)

    floor.disinfect("R1-02", "B-1", at="2027-02-17T11:00:00+01:00")

    assert tasks(floor, "search") == []


def test_s16_6_the_batch_cannot_be_certified(floor, batch, moved):
    check = floor.walk.get(f"batches/{batch}/certificate-check")

    assert check["may_be_issued"] is False
    assert "unaccounted" in [one["code"] for one in check["reasons"]]


def test_s16_7_before_48_hours_it_is_not_presumed_lost(floor, missing):
    floor.walk.at("2027-02-19T08:59:59+01:00")

    problem = floor.walk.refused(f"missing/{missing}/presumptions", REASON)

    assert (problem.status, problem.code) == (409, "too_early")


def test_s16_8_then_a_manager_may_with_a_reason(floor, missing):
    floor.walk.at(TWO_DAYS_LATER)

    without = floor.walk.refused(f"missing/{missing}/presumptions", {"count": 1})
    answer = floor.walk.post(f"missing/{missing}/presumptions", REASON)

    assert without.code == "reason_missing"
    counts = answer["batch"]["counts"]
    assert (counts["presumed_lost"], counts["unaccounted"], counts["dead"]) == (1, 0, 0)


def test_s16_9_a_keeper_may_not(floor, missing):
    keeper = floor.walk.as_person("Ola", "keeper").at(TWO_DAYS_LATER)

    assert keeper.refused(f"missing/{missing}/presumptions", REASON).status == 403


def test_s16_10_found_after_all_it_is_alive_again(floor, batch, missing):
    floor.walk.at(TWO_DAYS_LATER).post(f"missing/{missing}/presumptions", REASON)
    found = {"count": 1, "container": floor.uids["R1-03"], "alive": True}

    answer = floor.walk.post(f"missing/{missing}/findings", found)

    counts = answer["batch"]["counts"]
    assert (counts["alive"], counts["presumed_lost"]) == (12, 0)
