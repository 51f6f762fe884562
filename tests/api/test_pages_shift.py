"""The shift page: slips by time left and place, what if, rooms, leases."""

import pytest
from django.test import Client

from stock.models import Task
from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
EARLY = "2027-01-12T08:00:00+00:00"
LIMIT = "2027-01-14T08:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=4, kits=4
    )
    floor.place(16, "R1-01", "A-1", at=PLACED)
    here = f"sites/{floor.walk.site}"
    floor.uids["Cellar"] = floor.walk.post(f"{here}/rooms", {"label": "Cellar"})["room"]["uid"]
    body = {"label": "C1", "room": floor.uids["Cellar"]}
    rack = floor.walk.post(f"{here}/racks", body)["rack"]["uid"]
    body = {"label": "C1-01", "rack": rack, "fill_mark_l": "60"}
    floor.uids["C1-01"] = floor.walk.post(f"{here}/containers", body)["container"]["uid"]
    floor.uids["Hall"] = floor.walk.get(f"{here}/rooms")["rooms"][1]["uid"]
    return floor


@pytest.fixture
def site(floor):
    return floor.walk.site


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, EARLY)


def test_a_slip_says_into_which_container_with_which_kit_and_how(visit, site):
    text = visit.read("shift", site)

    assert "Move all animals into a ready container" in text
    assert "Into R1-02 With kit A-2" in text or "Into R1-02 With kit B-1" in text
    assert "Search the old container and everything hollow in it." in text
    assert "Mains" in text


def test_a_slip_says_that_an_early_move_costs_a_fifth(visit, site):
    early = visit.read("shift", site)
    visit.at = LIMIT
    at_the_limit = visit.read("shift", site)
    visit.at = "2027-01-14T08:00:01+00:00"
    over = visit.read("shift", site)

    assert (
        "Done now, 48:00 before the limit, it costs one move more: 5 in all, "
        "with a container and a kit more." in early
    )
    assert "not before Sat 23 Jan 2027 08:00" in early
    assert "it costs no move more" in at_the_limit
    assert "the series begins again with this move" in over


def test_slips_of_equal_urgency_stand_together_by_place(visit, site):
    visit.at = "2027-01-14T07:30:00+00:00"

    text = visit.read("shift", site)

    assert "Within an hour. Rack R1, Hall" in text
    assert text.index("Within an hour") < text.index("Without a limit")


def test_one_room_shows_its_own_and_what_is_urgent_elsewhere(floor, visit, site):
    visit.at = "2027-01-14T09:00:00+00:00"

    cellar = visit.read("shift-room", site, floor.uids["Cellar"])
    hall = visit.read("shift-room", site, floor.uids["Hall"])

    assert "Move all animals" not in cellar
    assert "C1-01" in cellar
    assert "Elsewhere: 0 with animals in danger, 3 over the limit." in cellar
    assert "Move all animals" in hall
    assert "C1-01" not in hall
    assert visit.get("shift-room", site, floor.walk.person).status_code == 404


def test_what_was_taken_and_left_alone_comes_back_by_itself(floor, visit, site):
    """Whether the timetable came by or not: nothing here is swept."""
    task = Task.objects.get(what="move").uid
    other = Visit.by(floor.walk.as_person("Ola", "keeper").person, EARLY)
    visit.press("take", task)
    taken = other.read("shift", site)
    refused = other.press("take", task)

    other.at = "2027-01-12T16:00:00+00:00"
    back = other.read("shift", site)
    again = other.press("take", task)

    assert "Taken by mara. It comes back by itself at Tue 12 Jan 2027 16:00 WET" in taken
    assert refused.status_code == 409
    assert "Taken by" not in back
    assert again.status_code == 302
    assert Task.objects.get(uid=task).taken_by.name == "Ola"
