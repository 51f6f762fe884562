"""S-32: staff forgot to log a move, and told it the day after."""

import pytest
from django.test import Client

from tests.floor import Floor
from tests.tablet import Tablet

DUE = "2027-02-18T09:00:00+01:00"
CLAIMED = "2027-02-18T08:15:00+01:00"
TOLD = "2027-02-19T11:20:00+01:00"


@pytest.fixture
def forgotten(begun, db):
    floor, batch, helper = begun
    return floor.again(), batch, helper.again()


@pytest.fixture(scope="module")
def begun(kept_for_module):
    """Placed on the Monday; nobody has told of the move that was due on Thursday at nine."""
    floor = Floor.open(Client(), "2027-02-15T08:00:00+01:00", containers=2, kits=2)
    batch = floor.place(12, "R1-01", "A-1", at="2027-02-15T09:00:00+01:00")
    helper = floor.walk.as_person("Hedda", "keeper")
    return floor, batch, helper


def late_entry(floor, batch, **more):
    body = floor.move_body(batch, "R1-02", "B-1", [12])
    return {**body, "performed_at": CLAIMED, "standing": "happened", **more}


def rules(batch):
    return {one["rule"] for one in batch["deviations"] if one["open"]}


def test_s32_a_forgotten_move_is_told_late_and_confirmed_by_a_second_person(forgotten):
    floor, batch, helper = forgotten
    path = f"batches/{batch}/moves"
    floor.walk.at("2027-02-18T10:00:00+01:00")
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})
    assert floor.batch(batch, TOLD)["series"]["state"] == "unproven"
    body = late_entry(floor, batch)

    # S-32.1: over an hour late it needs a reason, over twelve a second person.
    silent = helper.at(TOLD).refused(path, body)
    told = helper.post(path, {**body, "reason": "Forgot the tablet."})
    assert (silent.status, silent.code) == (400, "reason_missing")
    (late,) = (one for one in told["deviations"] if one["rule"] == "late_unconfirmed")
    assert late["numbers"]["gap_s"] == (27 * 60 + 5) * 60
    # S-32.2: neither on time nor broken until then; the limit runs from the claimed moment.
    found = floor.batch(batch, TOLD)
    assert (found["series"]["state"], found["series"]["number"]) == ("unproven", 1)
    assert found["stay"]["limit"] == "2027-02-21T07:15:00Z"
    stays = floor.walk.get(f"batches/{batch}/history")["stays"]
    assert stays[0]["verdict"] == "unproven"

    own = helper.refused(f"facts/{told['fact']['uid']}/confirmations")
    floor.walk.post(f"facts/{told['fact']['uid']}/confirmations")

    assert (own.status, own.code) == (403, "own_action")
    after = floor.batch(batch)
    assert after["series"]["state"] == "unbroken"
    assert rules(after) & {"late_unconfirmed", "stay_over", "stay_unproven"} == set()
    # S-32.4: the notice stays and is explained; late entries are counted by person and month.
    notices = floor.walk.get(f"sites/{floor.walk.site}/notices")["notices"]
    assert {"overdue", "resolved"} <= {one["kind"] for one in notices}
    explained = [one for one in notices if one["kind"] == "resolved"]
    assert "late_entry" in {one["body"]["explained_by"] for one in explained}
    span = "from=2027-02-01T00:00:00Z&to=2027-03-01T00:00:00Z"
    people = floor.walk.get(f"sites/{floor.walk.site}/late-entries?{span}")["people"]
    assert [(one["name"], len(one["entries"])) for one in people] == [("Hedda", 1)]


def test_s32_3_a_kit_that_was_not_ready_at_that_time_is_said_by_the_entry(forgotten):
    floor, batch, helper = forgotten
    wet = {"subjects": floor.pieces["B-1"], "performed_at": "2027-02-18T07:00:00+01:00"}
    floor.walk.at("2027-02-18T07:00:00+01:00").post("wet-findings", wet)

    body = late_entry(floor, batch, reason="Forgot the tablet.")
    told = helper.at(TOLD).post(f"batches/{batch}/moves", body)

    assert "kit_not_ready" in {one["rule"] for one in told["deviations"]}


def test_s32_at_the_tablet_it_asks_why_so_late_and_then_waits_for_a_second_person(forgotten):
    floor, batch, helper = forgotten
    floor.walk.at("2027-02-18T10:00:00+01:00")
    tablet = Tablet.of(floor)
    said = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "ended_stay": floor.batch(batch, TOLD)["stay"]["uid"],
        "count": "12",
        "when": "2027-02-18 08:15",
    }
    # Pressed in the basement at 11:20, sent once there was network again.
    sent = {"by": helper.person, "pressed": TOLD, "at": "2027-02-19T14:00:00+01:00"}

    silent = tablet.send("move", batch, **sent, **said)
    told = tablet.send("move", batch, **sent, **said, reason="Forgot the tablet.")

    assert silent["answer"] == "look"
    assert [one["code"] for one in silent["reasons"]] == ["reason_missing"]
    assert told["answer"] == "stored"
    (late,) = (one for one in told["deviations"] if one["rule"] == "late_unconfirmed")
    assert late["numbers"]["gap_s"] == (27 * 60 + 5) * 60, "a late sync is no later entry"
    found = floor.batch(batch, sent["at"])
    assert found["series"]["state"] == "unproven"
    assert found["stay"]["limit"] == "2027-02-21T07:15:00Z"
    floor.walk.at(sent["at"]).post(f"facts/{told['fact']['uid']}/confirmations")
    assert floor.batch(batch)["series"]["state"] == "unbroken"
