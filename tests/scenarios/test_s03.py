"""S-03: moving early does not finish the series early."""

import pytest
from django.test import Client

from tests.floor import Floor

MOVES = (
    ("R1-02", "B-1", "2027-02-10T22:00:00-05:00"),
    ("R1-03", "A-2", "2027-02-13T10:00:00-05:00"),
    ("R1-04", "B-2", "2027-02-15T22:00:00-05:00"),
    ("R1-05", "A-3", "2027-02-18T10:00:00-05:00"),
)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(
        Client(), "2027-02-08T09:00:00-05:00", zone="America/New_York", containers=8, kits=8
    )


@pytest.fixture
def batch(floor):
    batch = floor.place(8, "R1-01", "A-1", at="2027-02-08T10:00:00-05:00")
    for container, kit, at in MOVES:
        floor.move(batch, container, kit, [8], at=at)
    return batch


def test_s03_1_each_limit_counts_from_the_real_move(floor):
    batch = floor.place(8, "R1-01", "A-1", at="2027-02-08T10:00:00-05:00")

    floor.move(batch, "R1-02", "B-1", [8], at="2027-02-10T22:00:00-05:00")

    assert floor.batch(batch)["stay"]["limit"] == "2027-02-14T03:00:00Z"


def test_s03_2_four_moves_in_240_hours_do_not_complete_it(floor, batch):
    series = floor.batch(batch)["series"]

    assert (series["moves"], series["state"]) == (4, "unbroken")
    assert (series["elapsed_text"], series["needed_text"]) == ("240:00", "288:00")
    check = floor.walk.get(f"batches/{batch}/certificate-check")
    missing = next(one for one in check["reasons"] if one["code"] == "series_not_complete")
    assert missing["numbers"]["needed_s"] - missing["numbers"]["elapsed_s"] == 48 * 3600


def test_s03_3_a_fifth_move_is_offered_in_its_window(floor, batch):
    now = floor.batch(batch)

    assert now["series"]["moves_needed"] == 1
    assert now["series"]["earliest_end"] == "2027-02-20T15:00:00Z"
    assert now["stay"]["limit"] == "2027-02-21T15:00:00Z"


@pytest.mark.parametrize(
    "at", ["2027-02-20T10:00:00-05:00", "2027-02-21T10:00:00-05:00"], ids=["first", "last"]
)
def test_s03_4_at_either_end_of_the_window_it_completes(floor, batch, at):
    floor.move(batch, "R1-06", "B-3", [8], at=at)

    now = floor.batch(batch)
    assert (now["state"], now["series"]["state"]) == ("observation", "complete")
    assert now["stay"]["limit"] is None


def test_s03_5_a_sixth_and_a_seventh_move_are_no_error(floor, batch):
    floor.move(batch, "R1-06", "B-3", [8], at="2027-02-19T10:00:00-05:00")
    floor.move(batch, "R1-07", "A-4", [8], at="2027-02-20T09:00:00-05:00")
    floor.move(batch, "R1-08", "B-4", [8], at="2027-02-20T10:00:00-05:00")

    series = floor.batch(batch)["series"]
    assert (series["moves"], series["state"]) == (7, "complete")
