"""S-20: the target water is heavier. Told in practical salinity, as the rule compares it."""

from datetime import datetime, timedelta

import pytest

from tests.floor import Floor

PLACED = datetime.fromisoformat("2027-01-05T09:00:00+01:00")
ASKED = PLACED + timedelta(hours=71, minutes=20)


@pytest.fixture
def floor(client):
    return Floor.open(client, "2027-01-05T08:00:00+01:00", containers=3, kits=2)


@pytest.fixture
def batch(floor):
    batch = floor.place(10, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", at=ASKED, salinity="27.9", temperature="25.6")
    floor.read("R1-02", at=ASKED, salinity="34.5", temperature="25.9")
    return batch


@pytest.fixture
def refused(floor, batch):
    return floor.refused_move(batch, "R1-02", "B-1", [10])


def test_s20_1_refused_for_salinity_and_not_for_temperature(refused):
    assert (refused.status, refused.code) == (409, "water_mismatch")
    (reason,) = refused.body["reasons"]
    assert reason["numbers"]["quantity"] == "salinity"
    assert (reason["numbers"]["difference"], reason["numbers"]["allowed"]) == ("6.6", "1.4")


def test_s20_2_direction_and_correction_are_named(refused):
    (reason,) = refused.body["reasons"]

    assert reason["numbers"]["direction"] == "target_higher"
    assert "lower the target" in reason["text"]


def test_s20_3_a_newer_reading_of_the_target_clears_it(floor, batch, refused):
    later = ASKED + timedelta(minutes=10)
    floor.read("R1-02", at=later, salinity="28.4", temperature="25.9")

    floor.move(batch, "R1-02", "B-1", [10], at=later, read=False)

    assert floor.batch(batch)["series"]["moves"] == 1


def test_s20_4_a_manager_may_insist_and_the_deviation_stays(floor, batch, refused):
    answer = floor.move(
        batch,
        "R1-02",
        "B-1",
        [10],
        at=ASKED,
        read=False,
        insist=[{"rule": "water_mismatch", "reason": "40 minutes to the limit"}],
    )

    assert "water_mismatch" in [one["rule"] for one in answer["deviations"]]
    entries = floor.walk.get(f"batches/{batch}/history")["entries"]
    assert entries[-1]["insist"] == [
        {"rule": "water_mismatch", "reason": "40 minutes to the limit"}
    ]


def test_s20_5_a_keeper_may_not_insist(floor, batch, refused):
    keeper = floor.walk.as_person("Ola", "keeper")
    body = floor.move_body(batch, "R1-02", "B-1", [10])

    problem = keeper.refused(
        f"batches/{batch}/moves",
        {**body, "insist": [{"rule": "water_mismatch", "reason": "no time"}]},
    )

    assert problem.status in (403, 409)
    assert floor.batch(batch)["series"]["moves"] == 0


def test_s20_6_readings_older_than_the_site_allows_do_not_count(floor, batch):
    floor.read("R1-02", at=ASKED, salinity="28.4", temperature="25.9")
    floor.walk.at(ASKED + timedelta(hours=2, seconds=1))

    problem = floor.refused_move(batch, "R1-02", "B-1", [10])

    assert "reading_old" in [one["code"] for one in problem.body["reasons"]]
