"""Pages in the language of whoever reads them; programs are answered in English."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import Person
from tests.certified import kept
from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-11T08:00:00+00:00"
METRIC = {"temperature": "Cel", "salinity": "1", "volume": "L", "mass": "g"}


@pytest.fixture(scope="module")
def shop(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Floor.open(Client(), "2027-01-11T07:00:00+00:00", containers=1, kits=1)


@pytest.fixture
def floor(shop, db, settings):
    settings.TEST_CLOCK = True
    shop.walk.at(NOW)
    return shop


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def language_of(answer):
    return re.search(r'<html lang="(\w+)"', answer.content.decode())[1]


def test_a_person_reads_in_the_language_they_chose_whatever_the_browser_asks(visit, floor):
    chosen = visit.press("units", floor.walk.site, **METRIC, language="es")
    visit.client.defaults["HTTP_ACCEPT_LANGUAGE"] = "en"
    page = visit.get("shift", floor.walk.site)

    assert chosen.status_code == 302
    assert Person.objects.get(uid=floor.walk.person).language == "es"
    assert (language_of(page), page["Content-Language"]) == ("es", "es")


def test_whoever_chose_none_reads_in_that_of_the_browser(visit, floor):
    visit.client.defaults["HTTP_ACCEPT_LANGUAGE"] = "es-MX,es;q=0.9,en;q=0.5"

    assert language_of(visit.get("shift", floor.walk.site)) == "es"


def test_a_language_nobody_offers_is_not_taken(visit, floor):
    answer = visit.press("units", floor.walk.site, **METRIC, language="xx")

    assert answer.status_code == 400
    assert Person.objects.get(uid=floor.walk.person).language == ""


def test_it_is_chosen_before_sign_in_and_leads_back_there(floor):
    client = Client()
    sign_in = reverse("sign-in")
    answer = client.post(reverse("language"), {"language": "es", "next": sign_in})

    assert answer.url == sign_in
    assert language_of(client.get(sign_in)) == "es"
    elsewhere = {"language": "en", "next": "https://example.org/"}
    assert client.post(reverse("language"), elsewhere).url == "/"


def test_programs_are_answered_in_english(floor):
    plain = floor.walk.client.get("/api/v1/sites", headers={"Accept-Language": "es"})

    assert "Content-Language" not in plain
    assert plain.json()["code"] == "not_signed_in"
