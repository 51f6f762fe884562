"""Counts out of the bags."""

from uuid import UUID

import pytest

from stock import clock, rebuild
from stock.apply.counts import balances
from stock.models import Fact
from tests.api.intake.lists import line_of, numbers


def test_a_count_tells_the_line_s_numbers(walk, enter):
    line = line_of(enter(20))

    told = walk.post(f"lines/{line}/counts", {"received": 18, "doa": 1})

    assert numbers(told) == {
        "listed": 20,
        "received": 18,
        "doa": 1,
        "placed": 0,
        "left": 17,
        "short": 2,
        "over": 0,
    }
    assert rebuild.check(clock.now()) == []


def test_counts_by_box_add_up(walk, enter):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 5}]
    line = line_of(enter(20, line={"boxes": boxes}))

    first = walk.post(f"lines/{line}/counts", {"box": "1", "received": 15, "doa": 1})
    second = walk.post(f"lines/{line}/counts", {"box": "2", "received": 6, "doa": 0})

    assert (first["received"], first["short"], first["line"]["counted"]) == (15, 0, False)
    assert (second["received"], second["doa"], second["over"]) == (21, 1, 1)
    assert [box["over"] for box in second["line"]["boxes"]] == [0, 1]


def test_animals_in_a_box_they_are_not_listed_in_are_short_and_over(walk, enter):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 5}]
    line = line_of(enter(20, line={"boxes": boxes}))

    walk.post(f"lines/{line}/counts", {"box": "1", "received": 15})
    walk.post(f"lines/{line}/counts", {"box": "2", "received": 3})
    told = walk.post(f"lines/{line}/counts", {"box": "3", "received": 2})

    assert (told["received"], told["short"], told["over"]) == (20, 0, 0)
    pinned = {box["box"]: (box["short"], box["over"]) for box in told["line"]["boxes"]}
    assert pinned == {"1": (0, 0), "2": (2, 0), "3": (0, 2)}


@pytest.mark.parametrize("again", [{"box": "1"}, {}])
def test_a_box_is_counted_once(walk, enter, again):
    line = line_of(enter(20, line={"boxes": ["1"]}))
    walk.post(f"lines/{line}/counts", {"received": 18, "doa": 0})

    problem = walk.refused(f"lines/{line}/counts", {"received": 2, "doa": 0, **again})

    assert (problem.status, problem.code) == (409, "contradicts_record")
    assert walk.post(f"lines/{line}/counts", {"box": "2", "received": 2})["received"] == 20


def test_a_second_count_told_as_done_is_parked_and_moves_nobody(walk, enter):
    line = line_of(enter(20))
    walk.post(f"lines/{line}/counts", {"received": 18, "doa": 0})

    told = walk.post(f"lines/{line}/counts", {"received": 19, "doa": 0, "standing": "happened"})

    assert told["fact"]["parked"] is True
    assert balances(UUID(line))["received"] == 18
    assert rebuild.check(clock.now()) == []


@pytest.mark.parametrize(
    ("count", "status", "code", "pointer"),
    [
        ({"received": 3, "doa": 4}, 409, "more_than_received", "/doa"),
        ({"received": 3, "wrong_species": 4}, 409, "more_than_received", "/wrong_species"),
        ({"received": -1}, 400, "not_positive", "/received"),
        ({"received": 2.5}, 400, "not_whole", "/received"),
        ({"received": 2_000_000}, 400, "unreadable", "/received"),
        ({"doa": 1}, 400, "unreadable", "/received"),
        ({"received": 3, "box": "x" * 61}, 400, "unreadable", "/box"),
    ],
)
def test_a_count_that_cannot_be_is_refused(walk, enter, count, status, code, pointer):
    line = line_of(enter(20))

    problem = walk.refused(f"lines/{line}/counts", count)

    assert (problem.status, problem.code) == (status, code)
    assert problem.body["reasons"][0]["pointer"] == pointer
    assert not Fact.objects.filter(kind="line_counted").exists()


def test_a_note_about_a_count_stands_beside_its_entry(walk, enter):
    line = line_of(enter(20))

    walk.post(f"lines/{line}/counts", {"received": 0, "note": "Mara saw the bag burst"})

    fact = Fact.objects.get(kind="line_counted")
    assert b"burst" not in bytes(fact.entry)
    assert fact.texts.get(name="note").value == "Mara saw the bag burst"
