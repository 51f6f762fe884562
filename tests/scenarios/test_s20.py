"""S-20: the target water is heavier, by a refractometer that shows 25/25."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = datetime.fromisoformat("2027-01-05T09:00:00+01:00")
ASKED = PLACED + timedelta(hours=71, minutes=20)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=3, kits=2)
    instrument = {
        "label": "R-2",
        "quantities": ["specific_gravity"],
        "convention": "25/25",
    }
    made = floor.walk.post(f"sites/{floor.walk.site}/instruments", instrument)
    floor.uids["R-2"] = made["instrument"]["uid"]
    check = {"standard": "35 g/kg fluid", "expected": "1.0264", "got": "1.0264", "passed": True}
    floor.walk.post(f"instruments/{floor.uids['R-2']}/checks", check)
    return floor


def read(floor, container, gravity, celsius, at):
    """Specific gravity and temperature of one container."""
    values = (
        ("specific_gravity", gravity, "1", "R-2"),
        ("temperature", celsius, "Cel", "T-1"),
    )
    readings = [
        {
            "container": floor.uids[container],
            "quantity": quantity,
            "value": value,
            "unit": unit,
            "instrument": floor.uids[instrument],
            "performed_at": at.isoformat(),
        }
        for quantity, value, unit, instrument in values
    ]
    floor.walk.at(at).post("readings", {"readings": readings, "performed_at": at.isoformat()})


@pytest.fixture
def batch(floor):
    batch = floor.place(10, "R1-01", "A-1", at=PLACED)
    read(floor, "R1-01", "1.021", "25.6", ASKED)
    read(floor, "R1-02", "1.026", "25.9", ASKED)
    return batch


@pytest.fixture
def refused(floor, batch):
    return floor.refused_move(batch, "R1-02", "B-1", [10])


def test_s20_1_refused_for_salinity_and_not_for_temperature(refused):
    assert (refused.status, refused.code) == (409, "water_mismatch")
    (reason,) = refused.body["reasons"]
    assert reason["numbers"]["quantity"] == "salinity"
    assert (reason["numbers"]["difference"], reason["numbers"]["allowed"]) == ("6.61", "1.4")


def test_s20_2_direction_and_correction_are_named(refused):
    (reason,) = refused.body["reasons"]

    assert reason["numbers"]["direction"] == "target_higher"
    assert "lower the target" in reason["text"]


def test_s20_3_a_newer_reading_of_the_target_clears_it(floor, batch, refused):
    later = ASKED + timedelta(minutes=10)
    read(floor, "R1-02", "1.0215", "25.9", later)

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
    read(floor, "R1-02", "1.0215", "25.9", ASKED)
    floor.walk.at(ASKED + timedelta(hours=2, seconds=1))

    problem = floor.refused_move(batch, "R1-02", "B-1", [10])

    assert "reading_old" in [one["code"] for one in problem.body["reasons"]]
