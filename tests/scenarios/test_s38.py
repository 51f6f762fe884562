"""S-38: the clocks go forward inside one stay."""

import json

import pytest
from django.test import Client

from tests.floor import Floor


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), "2027-03-26T09:00:00+01:00", containers=3, kits=2)


@pytest.fixture
def batch(floor):
    return floor.place(10, "R1-01", "A-1", at="2027-03-26T10:00:00+01:00")


def test_s38_1_the_limit_is_72_real_hours_later_said_with_its_zone(floor, batch):
    stay = floor.batch(batch)["stay"]

    assert stay["limit"] == "2027-03-29T09:00:00Z"
    assert stay["limit_local"].startswith("Mon 29 Mar 2027 11:00 CEST")


def test_s38_2_the_move_is_on_time_and_no_wall_clock_difference_appears(floor, batch):
    floor.move(batch, "R1-02", "B-1", [10], at="2027-03-29T10:30:00+02:00")

    history = floor.walk.get(f"batches/{batch}/history")
    first = history["stays"][0]
    assert (first["stay_text"], first["verdict"]) == ("71:30", "on_time")
    everything = json.dumps([history, floor.batch(batch)])
    assert "72:30" not in everything
    assert str(72 * 3600 + 1800) not in everything


def test_s38_3_288_hours_end_an_hour_later_on_the_wall(floor, batch):
    series = floor.batch(batch)["series"]

    assert series["earliest_end"] == "2027-04-07T09:00:00Z"
    assert series["earliest_end_local"].startswith("Wed 7 Apr 2027 11:00 CEST")


def test_s38_4_sweeps_run_on_the_day_whose_02_30_does_not_exist(floor, batch):
    floor.walk.at("2027-03-28T02:30:00+01:00")

    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})
