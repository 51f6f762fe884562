"""S-01: moved after exactly 72 hours, and one second later."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-01-05T09:00:00+01:00"
AT_LIMIT = "2027-01-08T09:00:00+01:00"
ONE_SECOND_OVER = "2027-01-08T09:00:01+01:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=4, kits=4)


def stays(floor, batch):
    return floor.walk.get(f"batches/{batch}/history")["stays"]


def test_s01_1_exactly_at_the_limit_is_on_time(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)

    floor.move(batch, "R1-02", "B-1", [20], at=AT_LIMIT)

    first = stays(floor, batch)[0]
    assert (first["stay_s"], first["stay_text"]) == (72 * 3600, "72:00")
    assert first["verdict"] == "on_time"
    now = floor.batch(batch)
    assert now["series"]["moves"] == 1
    assert now["stay"]["limit"] == "2027-01-11T08:00:00Z"
    assert now["stay"]["limit_local"].startswith("Mon 11 Jan 2027 09:00")


def test_s01_2_one_second_over_is_over_and_says_both_numbers(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)

    answer = floor.move(batch, "R1-02", "B-1", [20], at=ONE_SECOND_OVER)

    first = stays(floor, batch)[0]
    assert (first["verdict"], first["over_s"]) == ("over", 1)
    assert (first["stay_text"], first["limit_s"]) == ("72:00:01", 72 * 3600)
    over = next(one for one in answer["deviations"] if one["rule"] == "stay_over")
    assert over["numbers"]["over_s"] == 1


def test_s01_3_within_a_tolerance_it_stays_visible_as_over_and_the_limit_does_not_move(floor):
    rules = {"rules": {"tolerance_s": 1800}, "in_force_from": floor.walk.now}
    floor.walk.send("PUT", f"sites/{floor.walk.site}/rules", rules, **{"If-Match": '"0"'})
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    assert floor.batch(batch)["stay"]["limit"] == "2027-01-08T08:00:00Z"

    floor.move(batch, "R1-02", "B-1", [20], at=ONE_SECOND_OVER)

    first = stays(floor, batch)[0]
    assert (first["verdict"], first["over_s"]) == ("within_tolerance", 1)
    assert first["over_text"] == "0:00:01"
    assert first["limit"] == "2027-01-08T08:00:00Z"
    assert floor.batch(batch)["series"]["number"] == 1


def test_s01_4_fractions_of_a_second_are_cut_and_seconds_are_kept(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)

    floor.move(
        batch, "R1-02", "B-1", [20], at=AT_LIMIT, performed_at="2027-01-08T09:00:00.900+01:00"
    )

    assert stays(floor, batch)[0]["verdict"] == "on_time"
