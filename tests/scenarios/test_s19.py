"""S-19: an ammonia alarm after a detoxifier."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from tests.floor import Floor
from tests.working import notices, sweep, tasks

PLACED = datetime.fromisoformat("2027-02-06T08:30:00+01:00")
MOVED = datetime.fromisoformat("2027-02-09T08:00:00+01:00")
DOSED = datetime.fromisoformat("2027-02-10T18:20:00+01:00")
READ = datetime.fromisoformat("2027-02-10T19:00:00+01:00")
UNITS = {"ph": "[pH]", "temperature": "Cel", "total_ammonia": "mg/L", "free_ammonia": "mg/L"}
QUALIFIED = {
    "ph": {"ph_scale": "NBS"},
    "total_ammonia": {"reported_as": "N"},
    "free_ammonia": {"reported_as": "N"},
}


def read(floor, at=READ, container="R1-02", **values):
    readings = [
        {
            "container": floor.uids[container],
            "quantity": quantity,
            "value": value,
            "unit": UNITS[quantity],
            **QUALIFIED.get(quantity, {}),
        }
        for quantity, value in values.items()
    ]
    body = {"readings": readings, "performed_at": at.isoformat()}
    return floor.walk.at(at).post("readings", body)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """14 fish whose last move was on Tuesday."""
    floor = Floor.open(Client(), "2027-02-06T08:00:00+01:00", containers=3, kits=3)
    floor.uids["batch"] = floor.place(14, "R1-01", "A-1", at=PLACED)
    floor.move(floor.uids["batch"], "R1-02", "B-1", [14], at=MOVED)
    return floor


@pytest.fixture
def floor(opened):
    return opened.again()


@pytest.fixture
def dosed(floor):
    dose = {"product": "Sample Calm", "amount": "6", "unit": "mL", "why": "binding conditioner"}
    dose["performed_at"] = DOSED.isoformat()
    floor.walk.at(DOSED).post(f"containers/{floor.uids['R1-02']}/doses", dose)
    return floor


@pytest.fixture
def alarmed(dosed):
    """Total ammonia 1.0 mg/L at pH 8.1 and 26 C, told by a keeper."""
    read(dosed, total_ammonia="1.0", ph="8.1", temperature="26.0")
    return dosed


def alarm(floor):
    """The task that stands on top of the site's."""
    first = tasks(floor.walk)[0]
    assert (first["what"], first["why"], first["first"]) == ("reading", "free_ammonia", True)
    return first


def test_s19_1_and_2_on_top_of_all_queues_marked_and_not_cancelled_by_itself(alarmed):
    mark = "total test, 40 min after a binder: can read high"
    keeper = alarmed.walk.as_person("Ola", "keeper")

    first = keeper.get(f"tasks?site={keeper.site}")["tasks"][0]
    numbers = first["numbers"]

    assert (first["what"], first["why"], first["first"]) == ("reading", "free_ammonia", True)
    assert (first["batch"], first["container"]) == (
        alarmed.uids["batch"],
        alarmed.uids["R1-02"],
    )
    assert float(numbers["nh3_n_mg_l"]) == pytest.approx(0.0535, abs=0.001)
    assert [numbers[one] for one in ("ph", "temperature_c", "salinity")] == [
        "8.1",
        "26.0",
        "33.0",
    ]
    assert (numbers["assumed"], numbers["marks"]) == ([], [mark])
    assert mark in first["text"].lower()
    path = f"containers/{alarmed.uids['R1-02']}/readings?quantity=total_ammonia"
    (shown,) = alarmed.walk.get(path)["readings"]
    assert shown["ammonia"]["marks"] == [mark]
    (told,) = notices(alarmed.walk, kind="ammonia_alarm")
    assert (told["batch"], told["marks"]) == (alarmed.uids["batch"], [mark])
    assert alarmed.walk.person in told["to"]

    sweep(alarmed.walk, "2027-02-11T10:00:00+01:00")
    change = {"make": _make(alarmed), "volume_l": "40"}
    alarmed.walk.post(f"containers/{alarmed.uids['R1-02']}/water-changes", change)
    assert alarm(alarmed)["key"] == first["key"]


def _make(floor):
    made = {
        "vat": "V1",
        "salt_lot": "L1",
        "volume_l": "200",
        "salinity": "33",
        "temperature_c": "26",
        "total_chlorine_mg_l": "0",
    }
    return floor.walk.post(f"sites/{floor.walk.site}/makes", made)["make"]["uid"]


def test_s19_3_a_water_change_or_an_early_move_with_what_each_does(alarmed):
    first = alarm(alarmed)
    change, move = first["numbers"]["offers"]
    assert (change["kind"], change["effect_on_series"]) == ("water_change", "none")
    assert (move["kind"], move["stay_s"]) == ("move", 35 * 3600)
    assert move["limit_if_now"] == "2027-02-13T18:00:00Z"
    assert move["earliest_end"] == "2027-02-18T07:30:00Z"
    assert "no effect on the series" in first["text"]
    assert "stay 35:00, the limit is 72:00 from the move" in first["text"]

    alarmed.move(alarmed.uids["batch"], "R1-03", "A-2", [14], at=READ + timedelta(minutes=30))

    found = alarmed.batch(alarmed.uids["batch"])
    assert found["stay"]["limit"] == "2027-02-13T18:30:00Z"
    assert (found["series"]["moves"], found["series"]["state"]) == (2, "unbroken")
    assert found["series"]["earliest_end"] == "2027-02-18T07:30:00Z"
    assert tasks(alarmed.walk, "reading", container=alarmed.uids["R1-02"]) == []


def test_s19_4_the_dose_is_history_and_two_alarms_question_the_stocking(alarmed):
    entries = alarmed.walk.get(f"batches/{alarmed.uids['batch']}/history")["entries"]
    (dose,) = [one for one in entries if one["kind"] == "dose_given"]
    assert dose["body"]["product"] == "Sample Calm"
    assert dose["performed_at"] == "2027-02-10T17:20:00Z"

    read(alarmed, READ + timedelta(minutes=10), free_ammonia="0.06")
    assert alarm(alarmed)["numbers"]["quantity"] == "free_ammonia"
    read(alarmed, READ + timedelta(hours=1), free_ammonia="0.01")
    assert tasks(alarmed.walk, "reading") == []
    assert tasks(alarmed.walk, "review_stocking") == []
    read(alarmed, READ + timedelta(hours=20), total_ammonia="1.2", ph="8.1", temperature="26.0")

    (asked,) = tasks(alarmed.walk, "review_stocking")
    assert (asked["container"], asked["numbers"]["alarms"]) == (alarmed.uids["R1-02"], 2)
    alarmed.walk.post(f"tasks/{asked['uid']}/completions")
    assert tasks(alarmed.walk, "review_stocking") == []


def test_s19_without_a_ph_it_is_asked_for_and_the_careful_one_is_said(dosed):
    read(dosed, total_ammonia="0.6")

    first = alarm(dosed)

    assert "ph" in first["numbers"]["assumed"]
    assert "No pH was read: 8.4 assumed" in first["text"]
    assert "ph" in [one["why"] for one in tasks(dosed.walk, "reading")]
    read(dosed, READ + timedelta(minutes=5), ph="7.8")
    assert tasks(dosed.walk, "reading") == []
