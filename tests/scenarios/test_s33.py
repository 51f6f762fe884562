"""S-33: a double tap on "confirm move"."""

import json
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from django.test import Client

from stock.models import EntryOfDevice, Fact
from tests.floor import Floor
from tests.tablet import Tablet

PLACED = datetime.fromisoformat("2027-01-05T09:00:00+01:00")
MOVED = PLACED + timedelta(hours=70)


@pytest.fixture
def floor(client):
    return Floor.open(client, "2027-01-05T08:00:00+01:00", containers=2, kits=2)


@pytest.fixture
def ready(floor):
    """The batch, and what the tablet is about to send."""
    batch = floor.place(10, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", "R1-02", at=MOVED)
    return batch, floor.move_body(batch, "R1-02", "B-1", [10])


def tap(floor, ready, key="one-tap"):
    """The same request, by a connection of its own."""
    batch, body = ready
    walk = replace(floor.walk, client=Client())
    return walk.send("POST", f"batches/{batch}/moves", body, key=key)


def test_s33_1_two_taps_at_once_are_exactly_one_move(floor, ready, together):
    answers = together(lambda: tap(floor, ready), lambda: tap(floor, ready))

    assert {one.status_code for one in answers} <= {200, 201, 503}
    assert Fact.objects.filter(kind="batch_moved").count() == 1
    assert floor.batch(ready[0])["counts"]["alive"] == 10


def test_s33_2_the_second_gets_the_same_result(floor, ready, together):
    together(lambda: tap(floor, ready), lambda: tap(floor, ready))

    first, second = tap(floor, ready), tap(floor, ready)

    assert first["Idempotent-Replay"] == second["Idempotent-Replay"] == "true"
    assert json.loads(first.content) == json.loads(second.content)


def test_s33_3_repeating_the_key_a_day_later_returns_the_first_result(floor, ready):
    first = tap(floor, ready)
    floor.walk.at(MOVED + timedelta(days=1))

    later = tap(floor, ready)

    assert (first.status_code, later.status_code) == (201, 200)
    assert json.loads(first.content) == json.loads(later.content)


def test_s33_the_same_entry_of_a_tablet_sent_twice_at_once_is_stored_once(
    floor, ready, together
):
    batch, body = ready
    tablet, at = Tablet.of(floor), MOVED.isoformat()
    fields = {
        "container": body["to_container"],
        "kit": body["kit"],
        "count": "10",
        "ended_stay": body["ended_stay"],
    }

    def sent():
        who = {"by": floor.walk.person, "at": at, "pressed": at}
        return tablet.send("move", batch, no=1, key="tap", **who, **fields)["answer"]

    answers = together(sent, sent)

    assert set(answers) <= {"stored", "again", "later"}
    assert sent() == "again"
    assert Fact.objects.filter(kind="batch_moved").count() == 1
    assert EntryOfDevice.objects.get().answer in ("stored", "again")
