"""Public addresses are open to everybody, but to nobody without end."""

import pytest
from django.test import Client

from api.public import crowding
from protocols.tries import Limit

NOW = "2027-01-05T09:00:00+00:00"
NOWHERE = "/c/" + "a" * 32


@pytest.fixture(autouse=True)
def _few(db, settings, monkeypatch):
    settings.TEST_CLOCK = True
    monkeypatch.setattr(crowding, "crowd", crowding.Crowd(Limit(3, crowding.MINUTE)))


def asked(place, now=NOW, address=NOWHERE, accept="application/json"):
    headers = {"Fillmark-Now": now, "Accept": accept}
    return Client(REMOTE_ADDR=place).get(address, headers=headers)


def test_one_place_that_tries_addresses_has_to_wait_and_others_do_not():
    assert [asked("203.0.113.9").status_code for _ in range(4)] == [404, 404, 404, 429]
    assert asked("203.0.113.10").status_code == 404

    later = asked("203.0.113.9", "2027-01-05T09:00:40+00:00")
    assert (later.status_code, later["Retry-After"]) == (429, "20")
    assert later.json()["code"] == "too_many"
    assert asked("203.0.113.9", "2027-01-05T09:01:00+00:00").status_code == 404


def test_keys_and_lists_are_counted_together_with_pages():
    for _ in range(3):
        asked("203.0.113.9", address="/.well-known/jwks.json")

    page = asked("203.0.113.9", accept="text/html")
    assert page.status_code == 429
    assert "Nothing is wrong with the record" in page.content.decode()


def test_only_so_many_places_are_remembered(monkeypatch):
    monkeypatch.setattr(crowding, "PLACES_MOST", 2)
    for place in ("203.0.113.1", "203.0.113.1", "203.0.113.1", "203.0.113.2", "203.0.113.3"):
        asked(place)

    assert asked("203.0.113.1").status_code == 404
