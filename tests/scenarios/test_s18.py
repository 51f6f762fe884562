"""S-18: more dead than alive."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-02-08T09:00:00+01:00"
LOGGED = "2027-02-09T18:20:00+01:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), PLACED, containers=3, kits=3)


@pytest.fixture
def four(floor):
    """Four alive in R1-01."""
    return floor.place(4, "R1-01", "A-1", at=PLACED)


@pytest.fixture
def seven(floor, four):
    """Seven alive in the neighbour container R1-02."""
    return floor.place(7, "R1-02", "B-1", at=PLACED)


@pytest.fixture
def at_the_tablet(floor, seven):
    return floor.walk.at(LOGGED)


def dead(batch, count):
    return {"batch": batch, "fate": "dead", "count": count, "cause": ["unknown"]}


def alive(floor, *batches):
    return [floor.batch(one)["counts"]["alive"] for one in batches]


def test_s18_1_five_of_four_are_refused_with_both_numbers(at_the_tablet, four):
    problem = at_the_tablet.refused("losses", {"lines": [dead(four, 5)]})

    assert (problem.status, problem.code) == (409, "too_few_alive")
    assert problem.body["detail"] == "R1-01 has 4 alive; you entered 5."


def test_s18_2_nothing_is_stored_half(floor, at_the_tablet, four, seven):
    at_the_tablet.refused("losses", {"lines": [dead(seven, 1), dead(four, 5)]})

    assert alive(floor, four, seven) == [4, 7]


@pytest.fixture
def both(at_the_tablet, four, seven):
    """Four here and one there, in one form."""
    return at_the_tablet.post("losses", {"lines": [dead(four, 4), dead(seven, 1)]})


def test_s18_3_one_form_records_both(floor, both, four, seven):
    assert alive(floor, four, seven) == [0, 6]


def test_s18_4_the_series_ends_as_all_lost(floor, both, four):
    now = floor.batch(four)

    assert (now["state"], now["why"], now["stay"]) == ("closed", "all_lost", None)
    assert [(one["state"], one["why"]) for one in now["past_series"]] == [
        ("broken", "all_lost")
    ]


def test_s18_5_its_open_tasks_are_cancelled_with_the_reason(both, four):
    changed = [one for one in both["tasks_changed"] if one["batch"] == four]

    assert {(one["state"], one["closed_why"]) for one in changed} == {("cancelled", "all_lost")}
    assert "move" in [one["what"] for one in changed]


@pytest.mark.parametrize("path", ["kits/A-1", "containers/R1-01"])
def test_s18_6_its_kit_and_container_are_dirty(floor, both, path):
    sort, label = path.split("/")

    found = floor.walk.get(f"{sort}/{floor.uids[label]}")

    assert found["state"] == "dirty"


def test_s18_7_the_container_must_be_disinfected_before_it_is_used_again(floor, both):
    at = "2027-02-10T08:00:00+01:00"
    line = floor.receive(3, at=at)
    floor.read("R1-01", at=at)
    body = {
        "from": [{"line": line, "count": 3}],
        "container": floor.uids["R1-01"],
        "kit": floor.uids["A-2"],
        "counts": [3],
    }

    problem = floor.walk.refused("batches", body)

    assert (problem.status, problem.code) == (409, "container_not_ready")


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (-1, "not_positive"),
        (0, "not_positive"),
        (1.5, "not_whole"),
        ("two", "not_whole"),
        ("", "not_whole"),
        (None, "unreadable"),
    ],
)
def test_s18_8_what_is_no_number_of_animals_is_named_at_its_field(
    at_the_tablet, four, typed, code
):
    problem = at_the_tablet.refused("losses", {"lines": [dead(four, typed)]})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == "/lines/0/count"
