"""The page from which an auditor takes records away: asked for, watched, fetched."""

import hashlib

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import Export
from tests.floor import Floor
from tests.visit import Visit

NOW = "2027-01-11T10:00:00+00:00"
DAYS = {"first": "2027-01-11", "last": "2027-01-11"}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=1, kits=1
    )
    floor.walk.at(NOW)
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def test_a_bag_is_asked_for_watched_and_fetched(floor, visit):
    site = floor.walk.site
    led = visit.press("taking-away", site, bag="1", **DAYS)
    waits = visit.read("taking-away", site)
    Export.objects.update(state="making", entries_done=5000, entries_all=9000)
    making = visit.get("taking-away", site).content.decode()
    Export.objects.update(state="waiting")
    floor.walk.post("test-clock/sweeps", {"site": site})
    ready = visit.read("taking-away", site)
    row = Export.objects.get()
    fetched = b"".join(visit.get("bag-file", row.uid))

    assert led.url == reverse("taking-away", args=[site])
    assert "Waits to be made" in waits
    assert '<progress max="9000" value="5000">' in making
    assert 'hx-trigger="every 3s"' in making
    assert f"{row.entries_all} entries; kept until" in ready
    assert hashlib.sha256(fetched).hexdigest() in ready


def test_the_tables_alone_come_at_once(floor, visit):
    answer = visit.press("taking-away", floor.walk.site, tables="1", **DAYS)

    data = b"".join(answer.streaming_content)

    assert data[:2] == b"PK"
    assert answer["Content-Type"] == "application/zip"
    assert Export.objects.count() == 0


def test_days_that_cannot_be_are_said_at_their_field(floor, visit):
    wrong = {"first": "2027-01-11", "last": "2027-01-10"}
    answer = visit.press("taking-away", floor.walk.site, bag="1", **wrong)
    early = visit.press("taking-away", floor.walk.site, bag="1", first="0001-01-01", last="")

    assert (answer.status_code, early.status_code) == (400, 400)
    assert "At most five years, the first day first." in answer.content.decode()


def test_a_keeper_takes_nothing_away(floor):
    keeper = floor.walk.as_person("Ida", "keeper")
    visit = Visit.by(keeper.person, NOW)

    assert visit.get("taking-away", floor.walk.site).status_code == 403
    assert "Records to take away" not in visit.read("shift", floor.walk.site)
