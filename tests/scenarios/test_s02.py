"""S-02: the third move 80 minutes late."""

import pytest
from django.test import Client

from tests.floor import Floor


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=5, kits=6
    )


@pytest.fixture
def batch(floor):
    batch = floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    floor.move(batch, "R1-02", "B-1", [16], at="2027-01-14T07:40:00+00:00")
    floor.move(batch, "R1-03", "A-2", [16], at="2027-01-17T07:30:00+00:00")
    return batch


@pytest.fixture
def late(floor, batch):
    return floor.move(batch, "R1-04", "B-2", [16], at="2027-01-20T08:50:00+00:00")


def test_s02_1_the_late_move_is_stored_as_it_was_and_breaks_the_series(floor, batch, late):
    stays = floor.walk.get(f"batches/{batch}/history")["stays"]

    assert [one["stay_text"] for one in stays[:3]] == ["71:40", "71:50", "73:20"]
    assert (stays[2]["verdict"], stays[2]["over_text"]) == ("over", "1:20")
    assert [one["rule"] for one in late["deviations"] if one["open"]] == ["stay_over"]
    now = floor.batch(batch)
    assert [(one["state"], one["why"]) for one in now["past_series"]] == [("broken", "late")]


def test_s02_2_its_placement_is_day_1_of_the_next_series(floor, batch):
    before = floor.batch(batch)["series"]["earliest_end"]
    floor.move(batch, "R1-04", "B-2", [16], at="2027-01-20T08:50:00+00:00")

    now = floor.batch(batch)
    assert before == "2027-01-23T08:00:00Z"
    assert (now["series"]["number"], now["series"]["state"]) == (2, "unbroken")
    assert now["stay"]["limit"] == "2027-01-23T08:50:00Z"
    assert now["series"]["earliest_end"] == "2027-02-01T08:50:00Z"
    assert now["past_series"][0]["moves"] == 2


@pytest.mark.xfail(strict=True, reason="reservations come with the planning of sales")
def test_s02_3_a_reservation_shows_the_new_earliest_date(floor, batch, late):
    answer = floor.walk.send("POST", f"batches/{batch}/reservations", {"count": 2})

    assert answer.status_code == 201


def test_s02_4_a_correction_keeps_the_old_value_and_does_not_repair(floor, batch, late):
    fact = late["fact"]["uid"]

    floor.walk.post(
        f"facts/{fact}/corrections",
        {
            "field": "performed_at",
            "new": "2027-01-20T07:29:00+00:00",
            "reason": "typed the wrong hour",
        },
    )

    now = floor.batch(batch)
    assert now["series"]["number"] == 2
    assert now["past_series"][0]["state"] == "unproven"
    entries = floor.walk.get(f"batches/{batch}/history")["entries"]
    assert any(one["uid"] == fact for one in entries)


def test_s02_5_a_correction_without_a_reason_is_refused(floor, batch, late):
    problem = floor.walk.refused(
        f"facts/{late['fact']['uid']}/corrections",
        {"field": "performed_at", "new": "2027-01-20T07:29:00+00:00"},
    )

    assert (problem.status, problem.code) == (400, "reason_missing")
