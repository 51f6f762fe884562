"""Somebody from outside confirms one late entry by a link, once, without an account."""

import re
from datetime import datetime, timedelta

import pytest
from django.test import Client

from stock.models import DeviationRow, Fact, OutsideSecond, Person, Role
from stock.queries.outside import outside_confirmations
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

TOLD = datetime.fromisoformat("2027-02-19T11:20:00+01:00")
SAW = "I stood beside her."


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """Mara alone works here; she moved them on Thursday and told it on Friday."""
    floor = Floor.open(Client(), "2027-02-15T08:00:00+01:00", containers=2, kits=2)
    batch = floor.place(12, "R1-01", "A-1", at="2027-02-15T09:00:00+01:00")
    body = {
        **floor.move_body(batch, "R1-02", "B-1", [12]),
        "performed_at": "2027-02-18T08:15:00+01:00",
        "standing": "happened",
        "reason": "Forgot the tablet.",
    }
    floor.walk.at(TOLD).post(f"batches/{batch}/moves", body)
    return floor


@pytest.fixture
def late(floor):
    return DeviationRow.objects.get(rule="late_unconfirmed", open=True)


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, TOLD.isoformat())


def allow(floor):
    rules = {"rules": {"outside_second": True}}
    floor.walk.at(TOLD).send(
        "PUT", f"sites/{floor.walk.site}/rules", rules, **{"If-Match": '"0"'}
    )


def link(visit, late, name="Ana Sample"):
    answer = visit.press("outside-link", late.uid, name=name)
    found = re.search(r"/second/([\w-]+)", words(answer))
    return found and found[1]


def outside(at=TOLD):
    """Somebody in a browser of their own, signed in nowhere."""
    return Visit(Client(), at.isoformat())


def state(floor, late):
    return floor.batch(str(late.batch_id))["series"]["state"]


def test_it_is_confirmed_once_and_said_to_be_from_outside(floor, late, visit):
    allow(floor)
    before = state(floor, late)
    secret = link(visit, late)
    asked = outside().read("outside-second", secret)
    outside().press("outside-second", secret, note=SAW)
    again = outside().press("outside-second", secret, note="Once more.")
    fact = Fact.objects.get(kind="confirmed")

    assert "12 moved" in asked or "R1-02" in asked
    assert "Forgot the tablet." in asked
    assert (before, state(floor, late)) == ("unproven", "unbroken")
    assert "This link is used up." in words(again)
    assert fact.body == {"of": str(late.cause), "outside": True}
    history = visit.read("history", late.batch_id)
    assert "Confirmed by an outside second" in history
    assert "Ana Sample (outside second)" in history
    assert SAW in history
    assert outside_confirmations([late.batch_id]) == 1


def test_a_site_that_did_not_say_so_takes_nobody_from_outside(late, visit):
    assert link(visit, late) is None
    assert not OutsideSecond.objects.exists()


def test_the_link_is_over_after_72_hours_and_by_the_next_one(floor, late, visit):
    allow(floor)
    first, second = link(visit, late), link(visit, late, "Bo Sample")
    ended = outside().press("outside-second", first, note=SAW)
    last = outside(TOLD + timedelta(hours=72, seconds=-1)).get("outside-second", second)
    over = outside(TOLD + timedelta(hours=72)).press("outside-second", second, note=SAW)

    assert (ended.status_code, last.status_code, over.status_code) == (404, 200, 404)
    assert not Fact.objects.filter(kind="confirmed").exists()


def test_only_a_digest_of_the_link_is_kept_and_nobody_signs_in_by_it(floor, late, visit):
    allow(floor)
    secret = link(visit, late)
    outsider = Person.objects.get(name__startswith="Ana")

    assert secret not in str(list(OutsideSecond.objects.values()))
    assert not outsider.is_active
    assert not Role.objects.filter(person=outsider).exists()


def test_a_keeper_makes_no_link_and_a_stranger_finds_no_question(floor, late):
    allow(floor)
    keeper = Visit.by(floor.walk.as_person("Ida", "keeper").person, TOLD.isoformat())

    assert keeper.press("outside-link", late.uid, name="Ana").status_code == 403
    assert outside().get("outside-second", "no-such-link").status_code == 404


def test_how_they_know_it_has_to_be_said(floor, late, visit):
    allow(floor)
    answer = outside().press("outside-second", link(visit, late), note="")

    assert answer.status_code == 400
    assert b"Say how you know it." in answer.content
