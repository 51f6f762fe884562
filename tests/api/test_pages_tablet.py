"""A tablet that several people work with: enrolling it, and what its pages say of it."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import Device, Tablet
from tests.make import make_person, make_shop
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-20T09:00:00+00:00"


@pytest.fixture(scope="module")
def kept_shop(kept_for_module):
    shop = make_shop()
    return shop, {name: make_person(shop, name, "keeper") for name in ("Ida", "Bo")}


@pytest.fixture
def shop(kept_shop, db, settings):
    settings.TEST_CLOCK = True
    return kept_shop[0]


@pytest.fixture
def people(kept_shop):
    return kept_shop[1]


def enrol(person, shop, label="Tablet 3", whose="shared"):
    """The visit of somebody who makes the browser they look with a tablet."""
    visit = Visit.by(str(person.uid), NOW)
    answer = visit.press("tablets", shop.site, label=label, whose=whose)
    return visit, answer


def data(answer):
    """What the body of a page says of the tablet and who is there."""
    found = dict(re.findall(r' data-(device|person|people)="([^"]*)"', answer.content.decode()))
    return found and (found["device"], found["person"], found["people"].split())


def test_a_manager_enrols_the_browser_they_look_with(shop):
    visit, answer = enrol(shop.manager, shop)
    page = visit.get("shift", shop.site)

    who = str(shop.manager.uid)
    assert data(page) == (str(Device.objects.get().uid), who, [who])
    assert answer.cookies["fillmark_tablet"]["httponly"]
    assert "Tablet 3" in visit.read("tablets", shop.site)


def test_only_a_digest_of_the_secret_is_kept(shop):
    _, answer = enrol(shop.manager, shop)
    secret = answer.cookies["fillmark_tablet"].value

    assert secret not in str(list(Tablet.objects.values()))


def test_a_browser_that_nobody_enrolled_says_nothing_of_a_tablet(shop):
    enrol(shop.manager, shop)

    assert data(Visit.by(str(shop.manager.uid), NOW).get("shift", shop.site)) == {}


def test_a_keeper_enrols_their_own_telephone_and_no_shared_tablet(shop, people):
    _, refused = enrol(people["Ida"], shop)
    visit, _ = enrol(people["Ida"], shop, "Ida's telephone", whose="mine")

    assert refused.status_code == 400
    assert Tablet.objects.get().owner == people["Ida"]
    assert data(visit.get("shift", shop.site))[1] == str(people["Ida"].uid)


def test_the_label_of_another_one_is_refused_beside_its_field(shop):
    enrol(shop.manager, shop)
    _, again = enrol(shop.manager, shop)

    assert b"Tablet 3 is the label of another one here." in again.content
    assert Tablet.objects.count() == 1


def test_the_same_press_twice_enrols_one_device(shop):
    visit = Visit.by(str(shop.manager.uid), NOW)
    said = {"label": "Tablet 3", "whose": "shared", "request_key": "once"}
    visit.press("tablets", shop.site, **said)
    visit.press("tablets", shop.site, **said)

    assert Device.objects.count() == Tablet.objects.count() == 1
    assert data(visit.get("shift", shop.site))


def test_a_tablet_that_was_lost_is_one_no_more(shop):
    visit, _ = enrol(shop.manager, shop)
    device = Device.objects.get().uid

    Visit.by(str(shop.manager.uid), NOW).press("end-tablet", device)

    assert data(visit.get("shift", shop.site)) == {}


def test_another_organisations_tablet_is_not_there(shop):
    enrol(shop.manager, shop)
    stranger = Visit.by(str(make_shop().manager.uid), NOW)

    answer = stranger.press("end-tablet", Device.objects.get().uid)

    assert answer.status_code == 404
    assert Client().get(reverse("tablets", args=[shop.site])).status_code == 302
