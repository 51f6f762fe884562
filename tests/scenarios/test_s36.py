"""S-36: offline in the basement, synced two hours later."""

from uuid import uuid4

from tests.floor import Floor
from tests.tablet import Tablet

NEW_YORK = "America/New_York"


def tablet(floor):
    here = f"sites/{floor.walk.site}/devices"
    return floor.walk.post(here, {"label": "Basement"})["device"]["uid"]


def stamped(device, n, at):
    """An entry of a tablet that knows how its clock runs."""
    return {"uid": device, "entry_no": n, "raw_at": at, "clock_offset_ms": 0}


def open_rules(floor, batch):
    return {one["rule"] for one in floor.batch(batch)["deviations"] if one["open"]}


def test_s36_offline_in_the_basement_synced_two_hours_later(client):
    floor = Floor.open(client, "2027-01-18T06:00:00-05:00", zone=NEW_YORK, containers=3, kits=3)
    device = tablet(floor)
    batch = floor.place(8, "R1-01", "A-1", at="2027-01-18T06:00:00-05:00")
    floor.walk.at("2027-01-21T06:00:01-05:00")
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})
    assert floor.batch(batch)["series"]["state"] == "unproven"
    move = {
        "ended_stay": floor.batch(batch)["stay"]["uid"],
        "to_container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "counts": [8],
        "standing": "happened",
        "performed_at": "2027-01-21T05:41:00-05:00",
        "device": stamped(device, 1, "2027-01-21T05:41:00-05:00"),
    }

    floor.walk.at("2027-01-21T07:55:00-05:00")
    told = floor.walk.post(f"batches/{batch}/moves", move)

    # S-36.1: performed then, recorded now, on time; what was overdue is explained, not deleted.
    assert told["fact"]["performed_at"] == "2027-01-21T10:41:00Z"
    assert told["fact"]["recorded_at"] == "2027-01-21T12:55:00Z"
    assert told["batch"]["series"]["state"] == "unbroken"
    history = floor.walk.get(f"batches/{batch}/history")
    assert history["stays"][0]["verdict"] == "on_time"
    assert open_rules(floor, batch) <= {"reading_missing"}


def test_s36_what_follows_a_report_that_waits_waits_with_it(client):
    """Two tablets: what one tells of a kit waits for what the other has not sent yet."""
    floor = Floor.open(client, "2027-01-18T06:00:00-05:00", zone=NEW_YORK, containers=4, kits=4)
    device = tablet(floor)
    first = floor.place(8, "R1-01", "A-1", at="2027-01-18T06:00:00-05:00")
    ended = floor.batch(first)["stay"]["uid"]
    line = floor.receive(5, at="2027-01-20T07:00:00-05:00")
    stay, batch, next_stay = (str(uuid4()) for _ in range(3))
    placed = {
        "from": [{"line": line, "count": 5}],
        "container": floor.uids["R1-02"],
        "kit": floor.uids["A-1"],
        "counts": [5],
        "uid": batch,
        "stay": stay,
    }
    there = {"to_container": floor.uids["R1-03"], "kit": floor.uids["B-1"], "counts": [5]}
    moved = {"ended_stay": stay, "stay": next_stay, **there}
    lost = {"batch": batch, "fate": "dead", "count": 1, "cause": ["unknown"]}
    left = {"ended_stay": ended, "to_container": floor.uids["R1-04"], "counts": [8]}
    back = {"ended_stay": next_stay, "to_container": floor.uids["R1-01"], "counts": [4]}

    def happened(path, body, n, at):
        entry = {"standing": "happened", "performed_at": at, "device": stamped(device, n, at)}
        return floor.walk.post(path, {**body, **entry})["fact"]["parked"]

    floor.walk.at("2027-01-24T06:00:00-05:00")
    # The kit is with the others still, as far as anybody told: what follows waits with it,
    # until it is told that the kit was handed on.
    assert happened("batches", placed, 1, "2027-01-20T09:00:00-05:00")
    assert happened("losses", {"lines": [lost]}, 3, "2027-01-21T10:00:00-05:00")
    assert not happened(f"batches/{batch}/moves", moved, 2, "2027-01-21T09:00:00-05:00")
    assert not happened(f"batches/{batch}/moves", back, 4, "2027-01-22T09:00:00-05:00")
    assert "kit_not_ready" in open_rules(floor, batch)
    assert not happened(f"batches/{first}/moves", left, 5, "2027-01-20T08:00:00-05:00")

    now = floor.batch(batch)
    assert now["stay"]["container"] == floor.uids["R1-01"]
    assert (now["counts"]["alive"], now["counts"]["dead"]) == (4, 1)
    assert "parked" not in open_rules(floor, batch)


def test_s36_a_stay_that_nobody_spoke_of_is_not_there(client):
    floor = Floor.open(client, "2027-01-18T06:00:00-05:00", zone=NEW_YORK, containers=2, kits=2)
    batch = floor.place(8, "R1-01", "A-1", at="2027-01-18T06:00:00-05:00")
    move = {
        "ended_stay": str(uuid4()),
        "to_container": floor.uids["R1-02"],
        "counts": [8],
        "standing": "happened",
    }

    assert floor.walk.refused(f"batches/{batch}/moves", move).status == 404


def test_s36_2_who_was_called_at_the_limit_is_told_that_it_is_resolved(client):
    floor = Floor.open(client, "2027-01-18T06:00:00-05:00", zone=NEW_YORK, containers=2, kits=2)
    device = tablet(floor)
    batch = floor.place(8, "R1-01", "A-1", at="2027-01-18T06:00:00-05:00")
    floor.walk.at("2027-01-21T06:00:01-05:00")
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})
    move = {
        "ended_stay": floor.batch(batch)["stay"]["uid"],
        "to_container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "counts": [8],
        "standing": "happened",
        "performed_at": "2027-01-21T05:41:00-05:00",
        "device": stamped(device, 1, "2027-01-21T05:41:00-05:00"),
    }
    floor.walk.at("2027-01-21T07:55:00-05:00").post(f"batches/{batch}/moves", move)

    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})

    calls = floor.walk.get(f"sites/{floor.walk.site}/calls")["calls"]
    kinds = [one["kind"] for one in calls]
    assert kinds.index("resolved") < kinds.index("overdue")
    (resolved,) = [one for one in calls if one["kind"] == "resolved"]
    assert resolved["lines"][0].endswith("it was done in time and sent later by a tablet")


def test_s36_at_the_tablet_what_was_pressed_in_time_is_in_time(client):
    floor = Floor.open(client, "2027-01-18T06:00:00-05:00", zone=NEW_YORK, containers=2, kits=2)
    tablet = Tablet.of(floor, "Basement")
    batch = floor.place(8, "R1-01", "A-1", at="2027-01-18T06:00:00-05:00")
    fields = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "8",
        "ended_stay": floor.batch(batch)["stay"]["uid"],
    }
    floor.walk.at("2027-01-21T06:00:01-05:00")
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})

    # Its clock is 47 minutes fast.
    pressed, sent = "2027-01-21T06:28:00-05:00", "2027-01-21T07:55:00-05:00"
    who = {"by": floor.walk.person, "pressed": pressed, "at": sent, "offset_ms": -47 * 60_000}
    answer = tablet.send("move", batch, **who, **fields)

    # S-36.4: the answer of the service for the entry, with both times.
    assert answer["answer"] == "stored"
    assert answer["fact"]["performed_at"] == "2027-01-21T10:41:00Z"
    assert answer["fact"]["recorded_at"] == "2027-01-21T12:55:00Z"
    assert floor.batch(batch, sent)["series"]["state"] == "unbroken"
    kinds = [one["kind"] for one in floor.walk.get(NOTICES.format(floor.walk.site))["notices"]]
    assert {"overdue", "resolved"} <= set(kinds)


NOTICES = "sites/{}/notices"
