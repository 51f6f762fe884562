"""S-26: a certificate says for ever what it said, and what came later stands beside it."""

import hashlib
import json
from datetime import datetime

import pytest
from django.test import Client

from tests.certified import Buyer, certify, kept, lose, move_on, open_floor

PLACED = datetime.fromisoformat("2027-02-08T09:00:00+01:00")
ISSUED = "2027-03-10T12:00:00+01:00"
NEXT_DAY = "2027-03-11T09:00:00+01:00"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Issued Wed 10 Mar 12:00 for 21; one dies at 16:30; next day the species is renamed."""
    with kept(django_db_blocker):
        floor = open_floor(Client(), PLACED)
        names = {"scientific_name": "Chromis viridis", "trade_names": ["Blue-green chromis"]}
        species = floor.walk.post("species", names)["species"]
        floor.species = species["uid"]
        batch = floor.place(21, "R1-01", "A-1", at=PLACED)
        move_on(floor, batch, 21, placed=PLACED)
        floor.walk.at(ISSUED)
        issued = certify(floor, batch, 21)
        before = Buyer(ISSUED).get(issued["url"], "application/vc+jwt").content
        lose(floor, batch, 1, at=datetime.fromisoformat("2027-03-10T16:30:00+01:00"))
        rename(floor.walk.at(NEXT_DAY), species)
        yield floor, batch, issued, before


def rename(walk, species):
    path = f"species/{species['uid']}"
    seen = walk.send("GET", path)["ETag"]
    body = {"scientific_name": "Chromis viridis", "trade_names": ["Chromis viridis"]}
    assert walk.send("PUT", path, body, **{"If-Match": seen}).status_code == 201


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def issued(story):
    return story[2]


@pytest.fixture
def buyer():
    return Buyer(NEXT_DAY)


def test_s26_1_it_still_says_what_it_said(buyer, issued):
    said = buyer.verified(buyer.token(issued["url"]))["credentialSubject"]["quarantine"]

    assert said["number"] == issued["number"] == "C-2027-0001"
    assert said["counts"]["certified"] == 21
    assert [one["name"] for one in said["species"]] == ["Blue-green chromis"]
    assert said["protocol"]["stay_limit_s"] == 72 * 3600
    assert len(said["moves"]) == 5
    assert said["declared_by"] == {"organisation": "Northlight Reef", "role": "manager"}


def test_s26_2_the_death_stands_beside_and_not_inside(buyer, issued):
    data = buyer.data(issued["url"])

    assert (data["now"]["state"], data["now"]["count"]) == ("valid", 20)
    assert (data["counts"]["certified"], data["counts"]["losses"]) == (21, {})
    assert data["losses"] == [{"on": "2027-03-10", "fate": "dead", "count": 1}]


def test_s26_3_those_who_work_here_see_both_numbers(floor, issued):
    now = floor.walk.get(f"certificates/{issued['uid']}")["certificate"]

    assert (now["count"], now["count_now"]) == (21, 20)


def test_s26_4_whoever_loads_it_twice_has_the_same_bytes(story, buyer, issued):
    again = [buyer.get(issued["url"], "application/vc+jwt").content for _ in range(2)]

    assert again == [story[3], story[3]]
    assert hashlib.sha256(again[0]).hexdigest() == issued["token_sha256"]


def test_s26_5_a_revoked_number_stays_and_is_not_used_again(floor, batch, buyer, issued):
    reason = {"reason": "counted in the wrong container"}
    floor.walk.post(f"certificates/{issued['uid']}/revocations", reason)

    again = certify(floor, batch, 20)

    assert again["number"] == "C-2027-0002"
    assert buyer.data(issued["url"])["now"]["state"] == "revoked"
    assert "Revoked" in buyer.page(issued["url"])
    assert "C-2027-0001" in buyer.page(issued["url"])
    assert "wrong container" not in json.dumps(buyer.data(issued["url"]))
