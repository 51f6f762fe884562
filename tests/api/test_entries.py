"""Entries that a tablet kept without network, as they reach the pages they were made on."""

import pytest
from django.test import Client

from stock.models import Balance, EntryOfDevice, Fact, Loss, StayRow
from tests.floor import Floor
from tests.tablet import Tablet
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
PRESSED = "2027-01-14T07:40:00+00:00"
SENT = "2027-01-14T09:55:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.uids["Ada"] = floor.walk.as_person("Ada", "keeper").person
    floor.uids["tablet"] = Tablet.of(floor).uid
    return floor


@pytest.fixture
def batch(floor):
    return floor.uids["batch"]


@pytest.fixture
def keeper(floor):
    return floor.uids["Ada"]


@pytest.fixture
def tablet(floor):
    return Tablet(floor.uids["tablet"])


def loss(tablet, batch, by, **more):
    given = {"count": "1", "fate": "dead", "cause": "unknown", "at": SENT, "pressed": PRESSED}
    return tablet.send("loss", batch, by=by, **{**given, **more})


def alive(batch):
    return Balance.objects.get(holder=batch, place="alive").n


def test_an_entry_happened_when_its_key_was_pressed_by_the_corrected_clock(
    tablet, batch, keeper
):
    fast = "2027-01-14T08:27:00+00:00"  # 47 minutes ahead

    answer = loss(tablet, batch, keeper, pressed=fast, offset_ms=-47 * 60_000)

    assert (tablet.status, answer["answer"], answer["says"]) == (200, "stored", ["1 dead."])
    fact = Fact.objects.get(kind="loss_recorded")
    assert fact.performed_at.isoformat() == PRESSED
    assert fact.recorded_at.isoformat() == SENT
    assert fact.raw_at.isoformat() == fast
    assert (fact.standing, fact.entry_no, fact.clock_offset_ms) == ("happened", 1, -2820000)
    assert Loss.objects.get().found_at.isoformat() == PRESSED
    row = EntryOfDevice.objects.get()
    assert (row.answer, row.fact, str(row.messenger)) == ("stored", fact.uid, keeper)


def test_a_clock_nobody_measured_that_runs_ahead_is_no_reason_to_refuse(tablet, batch, keeper):
    ahead = "2027-01-14T10:30:00+00:00"

    assert loss(tablet, batch, keeper, pressed=ahead, offset_ms=None)["answer"] == "stored"
    fact = Fact.objects.get(kind="loss_recorded")
    assert (fact.performed_at.isoformat(), fact.clock_offset_ms) == (SENT, None)


def test_what_arrived_when_it_was_pressed_is_there_already_however_it_is_sent_again(
    tablet, batch, keeper
):
    fields = {"count": "2", "fate": "dead", "cause": "unknown", "standing": "asked"}
    Visit.by(keeper, PRESSED).press("loss", batch, request_key="tap", **fields)

    first = loss(tablet, batch, keeper, key="tap", no=1, **{**fields, "standing": "happened"})
    again = loss(tablet, batch, keeper, key="tap", no=1, **fields)

    assert (first["answer"], again["answer"]) == ("again", "again")
    assert alive(batch) == 14
    assert EntryOfDevice.objects.get().answer == "again"


def test_what_does_not_fit_is_kept_and_parked(tablet, batch, keeper):
    answer = loss(tablet, batch, keeper, count="17")

    assert (tablet.status, answer["answer"]) == (200, "parked")
    assert alive(batch) == 16
    assert Fact.objects.get(kind="loss_recorded").standing == "happened"


def test_what_needs_a_person_says_what_is_wrong_and_keeps_what_was_typed(tablet, batch, keeper):
    answer = loss(tablet, batch, keeper, when="2027-01-14T05:00")

    assert (tablet.status, answer["answer"]) == (409, "look")
    assert answer["reasons"][0]["code"] == "reason_missing"
    assert answer["href"] == f"/batches/{batch}/loss"
    row = EntryOfDevice.objects.get()
    assert (row.answer, row.fields["when"]) == ("look", ["2027-01-14T05:00"])
    assert not Fact.objects.filter(kind="loss_recorded").exists()

    told = loss(tablet, batch, keeper, no=1, when="2027-01-14T05:00", reason="Hands were wet.")

    assert told["answer"] == "stored"
    row.refresh_from_db()
    assert (row.answer, row.tries, row.fields) == ("stored", 2, {})


def test_a_field_that_cannot_be_read_is_named(tablet, batch, keeper):
    answer = loss(tablet, batch, keeper, count="many")

    assert answer["answer"] == "look"
    assert answer["fields"] == {"count": ["Type a whole number."]}
    assert answer["says"] == ["How many? Type a whole number."]


@pytest.mark.parametrize("signed_in", [None, "manager"])
def test_an_entry_waits_for_its_doer(floor, tablet, batch, keeper, signed_in):
    who = floor.walk.person if signed_in else None

    answer = loss(tablet, batch, keeper, signed_in=who)

    assert (tablet.status, answer["answer"]) == (401, "sign_in")
    assert not Fact.objects.filter(kind="loss_recorded").exists()
    if who:
        assert answer["who"] == {"uid": keeper, "name": "Ada"}
        assert EntryOfDevice.objects.get().answer == "sign_in"


def test_a_stranger_is_told_nothing_about_anybody(tablet, batch, keeper):
    answer = loss(tablet, batch, keeper, signed_in=None)

    assert (answer["answer"], "who" in answer) == ("sign_in", False)
    assert not EntryOfDevice.objects.exists()


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("Fillmark-Entry", "0"),
        ("Fillmark-Entry", "x"),
        ("Fillmark-Entry", "9" * 40),
        ("Fillmark-Device", "none"),
        ("Fillmark-Device", "00000000-0000-4000-8000-000000000000"),
        ("Fillmark-Doer", ""),
        ("Fillmark-Doer", "00000000-0000-4000-8000-000000000000"),
        ("Fillmark-Raw-At", "2027-01-14T07:40:00"),
        ("Fillmark-Raw-At", "yesterday"),
        ("Fillmark-Clock-Offset", "1.5"),
    ],
)
def test_headers_that_cannot_be_read_store_nothing(tablet, batch, keeper, name, text):
    visit = Visit.by(keeper, SENT)
    headers = {
        "Fillmark-Entry": "1",
        "Fillmark-Device": tablet.uid,
        "Fillmark-Doer": keeper,
        "Fillmark-Raw-At": PRESSED,
        "Fillmark-Now": SENT,
        name: text,
    }
    fields = {"count": "1", "fate": "dead", "cause": "unknown", "request_key": "k"}
    answer = visit.client.post(f"/batches/{batch}/loss", fields, headers=headers)

    assert (answer.status_code, answer.json()["answer"]) == (409, "look")
    assert not Fact.objects.filter(kind="loss_recorded").exists()


def test_a_move_from_the_tablet_ends_the_stay_it_was_made_for(floor, tablet, batch, keeper):
    stay = StayRow.objects.get(batch=batch)
    fields = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "ended_stay": str(stay.uid),
    }

    answer = tablet.send("move", batch, by=keeper, at=SENT, pressed=PRESSED, **fields)

    assert answer["answer"] == "stored"
    stay.refresh_from_db()
    assert stay.ended_latest.isoformat() == PRESSED


def test_a_token_from_before_the_last_sign_in_is_no_success_and_no_end(tablet, batch, keeper):
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = Visit.by(keeper, SENT).client.cookies

    answer = loss(tablet, batch, keeper, client=strict)

    assert (tablet.status, answer["answer"], answer["code"]) == (503, "later", "csrf_failed")
