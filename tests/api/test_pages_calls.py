"""The page Calls: what somebody was told, where they are called, rooms that are closed."""

from datetime import datetime

import pytest
from django.test import Client
from django.urls import reverse

from stock.sending import send_due
from tests.floor import Floor
from tests.service import listening
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
OVER = "2027-01-14T08:30:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at=PLACED)
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, OVER)


def sweep(floor, at):
    return floor.walk.at(at).post("test-clock/sweeps", {"site": floor.walk.site})


def add(visit, site, **said):
    return visit.press("add-address", site, **{"label": "Telephone", **said})


def test_what_was_told_is_read_on_the_page(floor, visit):
    sweep(floor, OVER)
    site = floor.walk.site

    page = visit.read("calls", site)

    assert "The limit has passed" in page
    assert "R1-01: Move all animals into a ready container" in page
    assert "On this page alone" in page
    assert "Not read yet" in page
    assert visit.press("read-calls", site).status_code == 302
    assert "All read." in visit.read("calls", site)


def test_an_address_is_tested_by_a_button_and_never_shown(floor, visit, settings):
    settings.PRIVATE_ADDRESSES = True
    site = floor.walk.site
    with listening() as service:
        assert add(visit, site, address=service.address).status_code == 302
        (address,) = floor.walk.get("addresses")["addresses"]
        visit.press("test-address", site, address["uid"])
        assert send_due(datetime.fromisoformat(OVER)) == 1

    page = visit.get("calls", site).content.decode()
    assert "Test: sent" in page
    assert "secret-word" not in page + str(floor.walk.get("addresses"))
    visit.press("remove-address", site, address["uid"])
    assert "Nowhere but on this page" in visit.read("calls", site)


def test_an_address_that_leads_inside_is_refused_beside_its_field(floor, visit):
    answer = add(visit, floor.walk.site, address="json://192.168.1.4/secret-word")

    assert answer.status_code == 400
    assert "private network" in answer.content.decode()
    assert "secret-word" not in answer.content.decode()


def test_an_address_of_somebody_else_is_not_there(floor, visit):
    site = floor.walk.site
    add(visit, site, address="ntfys://example.org/hall")
    (address,) = floor.walk.get("addresses")["addresses"]
    other = floor.walk.as_person("Jonas", "keeper")

    stranger = Visit.by(other.person, OVER)

    assert stranger.press("test-address", site, address["uid"]).status_code == 404
    assert stranger.press("remove-address", site, address["uid"]).status_code == 404


def test_a_room_is_closed_for_people_and_opened_again(floor, visit):
    site, room = floor.walk.site, floor.walk.get(f"sites/{floor.walk.site}/rooms")["rooms"][0]

    done = visit.press("close-room", room["uid"], why="Chlorine in the air")

    assert done.url == reverse("shift", args=[site])
    assert "Hall is closed for people since" in visit.read("calls", site)
    assert sweep(floor, OVER)["notices"] == []
    assert floor.walk.get(f"sites/{site}/closures")["closed"][0]["why"] == "Chlorine in the air"
    visit.press("open-room", room["uid"])
    assert floor.walk.get(f"sites/{site}/closures")["closed"] == []
    assert {one["kind"] for one in sweep(floor, OVER)["notices"]} == {"overdue"}


def test_a_room_opens_after_it_closes_or_is_asked_again(floor, visit):
    room = floor.walk.get(f"sites/{floor.walk.site}/rooms")["rooms"][0]

    answer = visit.press("close-room", room["uid"], why="Gas", until="2027-01-14 08:00")

    assert answer.status_code == 400
    assert "opened again after" in answer.content.decode()


def test_the_page_asks_the_database_as_often_for_one_call_as_for_many(
    floor, visit, django_assert_max_num_queries
):
    sweep(floor, OVER)

    with django_assert_max_num_queries(11):
        visit.get("calls", floor.walk.site)


def test_a_manager_says_by_role_who_is_called_and_other_rules_stay(floor, visit):
    site = floor.walk.site
    rules = floor.walk.send("GET", f"sites/{site}/rules")
    body = {"rules": {"tolerance_s": 1800}}
    floor.walk.send("PUT", f"sites/{site}/rules", body, **{"If-Match": rules["ETag"]})
    quiet = {"quiet_from_keeper": "22:00", "quiet_to_keeper": "06:00"}

    answer = visit.press("call-settings", site, hears_keeper=["overdue"], **quiet)

    assert "Calls go out like this" in visit.follow(answer)
    kept = floor.walk.at(OVER).get(f"sites/{site}/rules")["rules"]
    assert kept["tolerance_s"] == 1800
    assert kept["calls"][0] == {
        "role": "keeper",
        "hears": ["overdue"],
        "quiet_from": "22:00",
        "quiet_to": "06:00",
    }
    half = visit.press("call-settings", site, quiet_from_keeper="22:00")
    assert (half.status_code, "a beginning and an end" in half.content.decode()) == (400, True)


def test_a_room_to_close_is_found_from_the_page_of_rooms(floor, visit):
    site = floor.walk.site

    assert "Close a room for people" in visit.read("room", site)
    assert "Hall" in visit.read("close-rooms", site)
