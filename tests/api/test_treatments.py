"""What is given to a batch under a protocol, over REST: refusals, overrides, and the clock."""

from datetime import UTC, datetime, timedelta

import pytest

from stock.models import Fact
from tests.floor import Floor

pytestmark = pytest.mark.django_db(transaction=True)

AT = datetime(2027, 1, 5, 9, 0, tzinfo=UTC)
COPPER = {"product": "copper", "amount": "0.18", "unit": "mg/L", "protocol": "copper-ionic@1"}


@pytest.fixture
def floor(client, settings):
    settings.TEST_CLOCK = True
    return Floor.open(client, AT.isoformat(), containers=2, kits=1)


@pytest.fixture
def batch(floor):
    return floor.place(20, "R1-01", "A-1", at=AT.isoformat())


def give(floor, **more):
    floor.walk.at(AT + timedelta(hours=1))
    return floor.walk.post(f"containers/{floor.uids['R1-01']}/doses", {**COPPER, **more})


def refused(walk, floor, **more):
    problem = walk.refused(f"containers/{floor.uids['R1-01']}/doses", {**COPPER, **more})
    return [(one["code"], one["rule"]) for one in problem.body["reasons"]]


def read_copper(floor, value):
    one = {
        "container": floor.uids["R1-01"],
        "quantity": "copper",
        "value": value,
        "unit": "mg/L",
    }
    floor.walk.post("readings", {"readings": [one]})


def is_a_shark(walk, floor):
    path = f"species/{floor.species}"
    version = walk.send("GET", path)["ETag"]
    said = {"scientific_name": "Amphiprion ocellaris", "groups": ["sharks"]}
    assert walk.send("PUT", path, said, **{"If-Match": version}).status_code == 201


def test_hours_count_from_readings_in_range_alone(floor, batch):
    give(floor)
    for hour, value in ((2, "0.05"), (12, "0.16"), (24, "0.17"), (36, "0.20")):
        floor.walk.at(AT + timedelta(hours=hour))
        read_copper(floor, value)
    (one,) = floor.walk.get(f"batches/{batch}/treatments")["treatments"]
    clock = one["clock"]

    assert one["protocol"] == "copper-ionic@1"
    assert [each["amount"] for each in one["doses"]] == ["0.18"]
    assert clock["counted_s"] == 24 * 3600
    assert clock["left_s"] == (14 * 24 - 24) * 3600
    assert clock["newest"] == "0.20"
    assert "copper above the range" in one["stop_signs"]
    floor.walk.at(AT + timedelta(hours=48))
    read_copper(floor, "0.10")
    (one,) = floor.walk.get(f"batches/{batch}/treatments")["treatments"]
    assert (one["clock"]["counted_s"], one["clock"]["restarts"]) == (0, 1)


def test_copper_is_refused_for_sharks_until_a_veterinarian_insists_with_a_reason(floor, batch):
    is_a_shark(floor.walk, floor)
    insist = [{"rule": "group_refused", "reason": "nothing else is left to try"}]
    vet = floor.walk.as_person("Vera", "veterinarian")

    assert refused(floor.walk, floor) == [("group_refused", "group_refused")]
    assert refused(floor.walk, floor, insist=insist) == [("group_refused", "group_refused")]
    vet.post(f"containers/{floor.uids['R1-01']}/doses", {**COPPER, "insist": insist})
    fact = Fact.objects.get(kind="dose_given")
    assert fact.insist == insist
    assert str(fact.messenger) == vet.person


def test_what_must_not_meet_is_refused_until_the_water_is_gone(floor, batch):
    give(floor)
    binder = {"product": "dechlorinator", "amount": "5", "unit": "mL", "protocol": None}
    said = {name: value for name, value in binder.items() if value is not None}
    path = f"containers/{floor.uids['R1-01']}/doses"

    problem = floor.walk.refused(path, said)
    assert [one["rule"] for one in problem.body["reasons"]] == ["copper_with_binder"]
    floor.walk.post(f"containers/{floor.uids['R1-02']}/doses", said)
    floor.walk.post(path, {**said, "standing": "happened"})


def test_a_protocol_of_nothing_that_is_given_is_refused_at_its_field(floor, batch):
    for key in ("transfer-288@1", "copper-ionic@101", "observation-14@1"):
        problem = floor.walk.refused(
            f"containers/{floor.uids['R1-01']}/doses", {**COPPER, "protocol": key}
        )
        assert problem.body["reasons"][0]["pointer"] == "/protocol"


def open_questions(walk, batch):
    found = walk.get(f"batches/{batch}")["batch"]["deviations"]
    return {one["rule"]: one["numbers"] for one in found if one["open"]}


def test_given_to_sharks_and_told_as_happened_somebody_has_to_decide(floor, batch):
    is_a_shark(floor.walk, floor)
    give(floor, standing="happened")

    assert open_questions(floor.walk, batch) == {
        "dose_refused": {
            "why": ["group_refused"],
            "group": "sharks",
            "species": "Amphiprion ocellaris",
            "product": "copper",
        }
    }
    reasons = floor.walk.get(f"batches/{batch}/certificate-check")["reasons"]
    (blocking,) = [one for one in reasons if one["rule"] == "dose_refused"]
    assert (blocking["blocks"], blocking["who"]) == (True, ["manager", "veterinarian"])
    (question,) = floor.walk.get(f"deviations?site={floor.walk.site}&open=true")["deviations"]
    floor.walk.as_person("Vera", "veterinarian").post(
        f"deviations/{question['uid']}/decisions",
        {"decision": "keep", "known": question["numbers"], "reason": "seen, they bear it well"},
    )
    assert open_questions(floor.walk, batch) == {}


def test_what_a_veterinarian_insisted_on_is_no_question(floor, batch):
    is_a_shark(floor.walk, floor)
    insist = [{"rule": "group_refused", "reason": "nothing else is left to try"}]
    vet = floor.walk.as_person("Vera", "veterinarian")
    vet.post(f"containers/{floor.uids['R1-01']}/doses", {**COPPER, "insist": insist})

    assert open_questions(floor.walk, batch) == {}


def test_that_they_are_sharks_may_be_learnt_after_the_dose(floor, batch):
    give(floor)
    assert open_questions(floor.walk, batch) == {}
    is_a_shark(floor.walk, floor)
    assert set(open_questions(floor.walk, batch)) == {"dose_refused"}


def test_ten_times_the_dose_told_as_happened_is_asked_about(floor, batch):
    give(floor, standing="happened", amount="1.8")
    assert open_questions(floor.walk, batch)["dose_refused"]["why"] == ["dose_too_much"]
