"""Contacts, incidents, rounds and what could have reached whom, on pages."""

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import DeviationRow, Fact
from tests.certified import kept
from tests.floor import Floor
from tests.visit import Visit, words

READY, PLACED = "2027-01-11T07:00:00+00:00", "2027-01-11T08:00:00+00:00"
NOW = "2027-01-11T10:00:00+00:00"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Sixteen in R1-01 and nine in R1-02, 0.6 m apart."""
    with kept(django_db_blocker):
        floor = Floor.open(Client(), READY, zone="Europe/Lisbon", containers=3, kits=2)
        first = floor.place(16, "R1-01", "A-1", at=PLACED)
        second = floor.place(9, "R1-02", "B-1", at=PLACED)
        ben = floor.walk.as_person("Ben", "keeper")
        yield floor, first, second, ben.person


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def touch(visit, floor, **changes):
    ends = {"begin": floor.uids["R1-01"], "end": floor.uids["R1-02"], "way": "tool"}
    given = {**ends, "thing": floor.pieces["A-1"][0], **changes}
    return visit.press("tell-contact", floor.walk.site, **given)


def test_a_contact_is_told_of_whoever_did_it(visit, floor, story):
    answer = touch(visit, floor, doer=story[3], when="2027-01-11T09:20")

    text = visit.follow(answer)
    fact = Fact.objects.get(kind="contact_seen")
    assert (str(fact.doer), str(fact.messenger)) == (story[3], floor.walk.person)
    assert "A manager decides what it means. Disinfect what was carried." in text
    assert "tool, A-1 heater likely Ben" in text


def test_the_day_is_a_picture_and_says_the_same_in_its_table(visit, floor):
    touch(visit, floor, when="2027-01-11T09:20")

    page = visit.get("touched", floor.walk.site)
    before = visit.read("touched", floor.walk.site, query="?day=2027-01-10")

    assert "09:20: R1-01 to R1-02, tool A-1 heater, likely" in page.content.decode()
    assert "Nothing was told of that day." in before
    assert "What touched what" in visit.read("touched", floor.walk.site, query="?day=soon")


def test_a_contact_with_itself_is_refused_at_its_field(visit, floor):
    answer = touch(visit, floor, end=floor.uids["R1-01"])

    assert answer.status_code == 400
    assert answer.context["form"].errors["end"]


def test_a_contact_stands_in_both_histories_and_is_a_question_of_one(visit, floor, story):
    touch(visit, floor)
    told = "From R1-01 to R1-02 by tool (A-1 heater)"

    assert told in visit.read("history", story[1])
    assert told in visit.read("history", story[2])
    assert "R1-01 tool likely not decided" in visit.read("exposures", story[2])
    assert "Nothing is known." in visit.read("exposures", story[1])


def test_a_sign_leads_to_whom_it_could_have_reached(visit, floor, story):
    answer = visit.press("sign", story[1], signs=["fine_dust"], affected="2")

    text = visit.follow(answer)
    assert answer.url == reverse("exposures", args=[story[1]])
    assert "0.60 m apart; lid and air stone there; lid here to be looked at" in text
    asked = DeviationRow.objects.get(rule="proximity", batch=story[2])
    known = (
        "together from Mon 11 Jan 2027 08:00 WET, a lid there, an air stone there, a lid here"
    )
    assert f"0.60 m apart, {known}" in visit.read("question", asked.uid)


def test_neighbours_stand_on_a_page_of_the_container(visit, floor):
    text = visit.read("neighbours", floor.uids["R1-01"])

    assert "R1-02 0.60 yes yes R1-03 1.20 yes yes" in text


def test_an_incident_is_recorded_and_its_tasks_stand_on_the_cord(visit, floor):
    answer = visit.press(
        "incident", floor.uids["R1-01"], kind="jumped", found="under rack 3", lid="shifted"
    )

    assert "Recorded. What is to be done about it stands on the cord." in visit.follow(answer)
    assert "ix the lid" in visit.read("shift", floor.walk.site)
    assert Fact.objects.get(kind="incident_recorded").body["what"] == {
        "found": "under rack 3",
        "lid": "shifted",
    }


def test_where_nobody_is_sure_it_says_what_is_to_be_counted(visit, floor):
    answer = visit.press("incident", floor.uids["R1-01"], kind="jumped", container_unsure="on")

    assert answer.status_code == 409
    assert "It may have come from any of them: count R1-01, R1-02 first." in words(answer)
