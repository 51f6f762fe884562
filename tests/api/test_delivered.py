"""Entries brought by another than who made them: a manager has to say that it was so."""

import pytest
from django.test import Client

from stock.models import DeviationRow, EntryOfDevice, Fact, StayRow
from tests.floor import Floor
from tests.tablet import Tablet
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
PRESSED = "2027-01-14T07:40:00+00:00"  # twenty minutes before the limit
SOON = "2027-01-14T19:39:00+00:00"
WAITED = "2027-01-14T19:40:00+00:00"  # twelve hours


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    for name, role in (("Ada", "keeper"), ("Ben", "keeper"), ("Eve", "manager")):
        floor.uids[name] = floor.walk.as_person(name, role).person
    floor.uids["tablet"] = Tablet.of(floor).uid
    return floor


@pytest.fixture
def tablet(floor):
    return Tablet(floor.uids["tablet"])


def bring(floor, tablet, name="move", at=WAITED, by="Ada", brought_by="Ben", **more):
    """What Ada pressed in the morning, brought by Ben."""
    who = {"by": floor.uids[by], "signed_in": floor.uids[brought_by], "delivered": True}
    given = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "ended_stay": str(StayRow.objects.get(container=floor.uids["R1-01"]).uid),
    }
    if name == "loss":
        given = {"count": "1", "fate": "dead", "cause": "unknown"}
    batch = floor.uids["batch"]
    return tablet.send(name, batch, at=at, pressed=PRESSED, **{**who, **given, **more})


def series(floor):
    return floor.batch(floor.uids["batch"], WAITED)["series"]["state"]


def end_account(floor, name):
    told = {"roles": [], "ended_at": SOON}
    path = f"people/{floor.uids[name]}"
    answer = floor.walk.at(SOON).send("PUT", path, told, **{"If-Match": '"0"'})
    assert answer.status_code == 201, answer.content


def test_before_the_sites_hours_are_over_it_waits_for_its_doer(floor, tablet):
    answer = bring(floor, tablet, at=SOON)

    assert (tablet.status, answer["answer"]) == (401, "sign_in")
    assert answer["reasons"][0]["numbers"] == {"waits_s": 60}
    assert answer["who"]["name"] == "Ada"
    assert not Fact.objects.filter(kind="batch_moved").exists()


def test_afterwards_it_is_the_doers_and_counts_with_doubt_until_a_manager_confirms(
    floor, tablet
):
    answer = bring(floor, tablet)

    assert answer["answer"] == "stored"
    fact = Fact.objects.get(kind="batch_moved")
    assert (str(fact.doer), str(fact.messenger)) == (floor.uids["Ada"], floor.uids["Ben"])
    assert fact.delivered is True
    assert b'"delivered":true' in bytes(fact.entry)
    # Moved in time as Ada's tablet says, too late if it was when Ben brought it.
    assert series(floor) == "unproven"
    path = f"facts/{fact.uid}/confirmations"
    ben, eve = (Visit.by(floor.uids[name], WAITED) for name in ("Ben", "Eve"))
    assert "brought by another" in eve.read("questions", floor.walk.site)
    confirm = "It was so"
    assert confirm not in ben.read("questions", floor.walk.site)
    assert confirm in eve.read("questions", floor.walk.site)

    floor.walk.at(WAITED).post(path)

    assert series(floor) == "unbroken"


@pytest.mark.parametrize("standing", ["asked", "happened"])
def test_neither_who_brought_it_nor_a_keeper_confirms_it(floor, tablet, standing):
    bring(floor, tablet, brought_by="Eve")
    fact = Fact.objects.get(kind="batch_moved")
    confirm = {"request_key": "c", "standing": standing}

    question = DeviationRow.objects.get(rule="late_unconfirmed", cause=fact.uid).uid
    ben, eve = (Visit.by(floor.uids[name], WAITED) for name in ("Ben", "Eve"))

    keeper = ben.press("confirm-question", question, **confirm)
    bringer = eve.press("confirm-brought", fact.uid, **confirm)

    assert (keeper.status_code, bringer.status_code) == (403, 403)
    assert "a manager confirms it" in words(keeper)
    assert "Somebody else has to confirm this" in words(bringer)
    assert not Fact.objects.filter(kind="confirmed").exists()
    assert series(floor) == "unproven"


def test_of_an_account_that_ended_nobody_waits(floor, tablet):
    end_account(floor, "Ada")

    assert bring(floor, tablet, at=SOON)["answer"] == "stored"
    assert Fact.objects.get(kind="batch_moved").delivered


def test_what_is_no_move_stands_among_the_questions_too(floor, tablet):
    assert bring(floor, tablet, "loss")["answer"] == "stored"
    fact = Fact.objects.get(kind="loss_recorded")
    eve = Visit.by(floor.uids["Eve"], WAITED)
    assert "done by Ada, brought by Ben" in eve.read("questions", floor.walk.site)

    eve.press("confirm-brought", fact.uid)

    assert Fact.objects.get(kind="confirmed").about == fact.uid
    assert "brought by Ben" not in eve.read("questions", floor.walk.site)


def test_what_its_doer_sent_already_is_there_already(floor, tablet):
    first = bring(floor, tablet, "loss", brought_by="Ada", key="k", no=1)
    again = bring(floor, tablet, "loss", brought_by="Ben", key="k", no=1)

    assert (first["answer"], again["answer"]) == ("stored", "again")
    assert Fact.objects.filter(kind="loss_recorded").count() == 1
    row = EntryOfDevice.objects.get()
    assert (str(row.messenger), row.answer) == (floor.uids["Ada"], "stored")


def test_a_program_may_bring_it_as_well(floor):
    body = {"batch": floor.uids["batch"], "fate": "dead", "count": 1, "cause": ["unknown"]}
    device = {
        "uid": floor.uids["tablet"],
        "entry_no": 9,
        "raw_at": PRESSED,
        "clock_offset_ms": 0,
        "delivered": True,
    }
    told = {"lines": [body], "standing": "happened", "performed_at": PRESSED, "device": device}
    walk = floor.walk

    early = walk.at(SOON).refused("losses", {**told, "doer": floor.uids["Ada"]})
    nobody = walk.at(WAITED).refused("losses", told)
    walk.post("losses", {**told, "doer": floor.uids["Ada"]})

    assert (early.status, early.code) == (401, "not_signed_in")
    assert nobody.body["reasons"][0]["pointer"] == "/doer"
    assert Fact.objects.get(kind="loss_recorded").delivered


def test_a_decision_is_not_brought_by_another(floor, tablet):
    bring(floor, tablet, brought_by="Ben")
    row = Fact.objects.get(kind="batch_moved")

    answer = tablet.send(
        "confirm-brought",
        row.uid,
        by=floor.uids["Eve"],
        signed_in=floor.walk.person,
        delivered=True,
        at="2027-01-15T19:40:00+00:00",
        pressed=WAITED,
    )

    assert (answer["answer"], answer["reasons"][0]["code"]) == ("look", "own_action")
