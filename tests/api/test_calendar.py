"""The limits of a site as a calendar at a secret address, read by a library for calendars."""

import re
from datetime import datetime

import icalendar
import pytest
from django.test import Client

from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-03-26T10:00:00+01:00"
NOW = "2027-03-26T12:00:00+01:00"
LIMIT = "2027-03-29T11:00:00+02:00"  # the clocks went forward meanwhile


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), "2027-03-26T09:00:00+01:00", containers=2, kits=2)
    floor.place(16, "R1-01", "A-1", at=PLACED)
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def secret(visit, floor):
    page = words(visit.press("make-calendar", floor.walk.site))
    return re.search(r"/calendar/[^ ]+\.ics", page)[0]


def test_a_limit_stands_there_in_utc_with_codes_and_places_alone(visit, floor):
    answer = Client().get(secret(visit, floor))

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    found = icalendar.Calendar.from_ical(answer.content)
    (move,) = [one for one in found.walk("VEVENT") if "Move" in one["SUMMARY"]]
    assert move.decoded("DTEND") == datetime.fromisoformat(LIMIT)
    assert b"DTEND:20270329T090000Z" in answer.content
    assert move["SUMMARY"] == "Limit: R1-01: Move all animals into a ready container"
    assert move["LOCATION"] == "Hall, R1-01"
    for private in (b"Amphiprion", b"Mara", b"Atoll"):
        assert private not in answer.content
    lines = answer.content.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)


def test_it_is_asked_for_anew_by_its_digest(visit, floor):
    address = secret(visit, floor)
    first = Client().get(address)

    again = Client().get(address, headers={"If-None-Match": first["ETag"]})

    assert (again.status_code, again.content) == (304, b"")
    assert first["Cache-Control"] == "private, max-age=900"
    assert Client().head(address).status_code == 200


def test_made_anew_the_old_address_is_worth_nothing(visit, floor):
    old = secret(visit, floor)
    new = secret(visit, floor)

    assert len(old.removeprefix("/calendar/").removesuffix(".ics")) == 27  # of 160 bits
    assert [Client().get(one).status_code for one in (old, new)] == [404, 200]
    visit.press("end-calendar", floor.walk.site)
    assert Client().get(new).status_code == 404


def test_who_does_not_work_there_any_more_reads_nothing(visit, floor):
    other = floor.walk.as_person("Jonas", "keeper")
    address = secret(Visit.by(other.person, NOW), floor)
    assert Client().get(address).status_code == 200

    person = floor.walk.send("GET", f"people/{other.person}")
    floor.walk.send(
        "PUT", f"people/{other.person}", {"roles": []}, **{"If-Match": person.get("ETag", "*")}
    )

    assert Client().get(address).status_code == 404


@pytest.mark.parametrize("word", ["x", "%00", "a" * 400])
def test_another_word_finds_nothing(db, word):
    assert Client().get(f"/calendar/{word}.ics").status_code == 404
