"""Unpacking on pages: listed, delivered, counted, placed."""

import pytest
from django.test import Client
from django.urls import reverse

from stock.models import Balance, Batch
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

NINE = "2027-01-20T09:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), NINE, zone="Europe/Lisbon", containers=2, kits=1, ready=False)


@pytest.fixture
def ready(floor):
    """Containers and kit were disinfected, seen dry and kept dry."""
    floor.disinfect("R1-01", "R1-02", "A-1", at="2027-01-18T11:00:00+00:00")
    floor.see_dry("R1-01", "R1-02", "A-1", at="2027-01-19T09:00:00+00:00")
    floor.walk.at(NINE)


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NINE)


@pytest.fixture
def consignment(floor):
    lines = [
        {"species": floor.species, "listed": 28, "boxes": ["1", "2"]},
        {"text": "Assorted damsel", "listed": 12, "boxes": ["3"]},
    ]
    body = {"supplier": floor.supplier, "waybill": "176-1", "lines": lines}
    return floor.walk.post(f"sites/{floor.walk.site}/consignments", body)["consignment"]


@pytest.fixture
def lines(consignment):
    return [line["uid"] for line in consignment["lines"]]


def test_what_is_announced_is_listed_with_its_numbers(floor, visit, consignment):
    text = visit.read("unpacking", floor.walk.site)

    assert "Sample Atoll Export, 176-1 Wed 20 Jan 2027 09:00 WET announced 40 0 0 0 0" in text


def test_the_boxes_are_here_at_a_touch(visit, consignment):
    uid = consignment["uid"]

    text = visit.follow(visit.press("deliver", uid))

    assert "Windows for claims run from now on." in text
    assert "to be counted" in text
    assert "Delivered Wed 20 Jan 2027 09:00 WET" in text


def test_boxes_that_came_earlier_are_told_in_the_sites_own_time(visit, consignment):
    answer = visit.press("deliver", consignment["uid"], when="2027-01-20T07:12")

    assert "Delivered Wed 20 Jan 2027 07:12 WET" in visit.follow(answer)


def test_boxes_that_have_not_come_yet_are_refused_at_the_field(visit, consignment):
    answer = visit.press("deliver", consignment["uid"], when="2027-01-20T11:00")

    assert answer.status_code == 400
    assert "It has not been delivered yet." in words(answer)


def test_a_count_out_of_a_box_keeps_every_number_apart(visit, consignment, lines):
    visit.press("deliver", consignment["uid"])

    one = visit.press("count-line", lines[0], box="1", received="13", doa="1")
    text = visit.follow(one)

    assert "Amphiprion ocellaris: 13 received, 1 DOA." in text
    assert "Place 12 alive" in text


def test_a_count_form_does_not_say_what_is_listed(visit, consignment, lines):
    visit.press("deliver", consignment["uid"])

    text = visit.read("count-line", lines[1])

    assert "12" not in text.replace("2027", "")


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("received", "", "Type a number."),
        ("received", "five", "Type a whole number."),
        ("received", "5.5", "Type a whole number."),
        ("received", "-1", "It must be 0 or more."),
        ("received", "1000001", "That is too many."),
        ("doa", "6", "6 of 5 cannot be: count again."),
        ("box", "9", "Select a valid choice"),
    ],
)
def test_a_number_that_cannot_be_is_said_at_its_field(visit, lines, field, typed, said):
    given = {"box": "1", "received": "5", "doa": "0", field: typed}

    answer = visit.press("count-line", lines[0], **given)

    assert answer.status_code in (400, 409)
    assert said in words(answer)


def test_counted_animals_are_placed_as_a_batch(floor, ready, visit, consignment, lines):
    visit.press("deliver", consignment["uid"])
    visit.press("count-line", lines[0], received="20", doa="0")
    floor.read("R1-01", at=NINE)

    answer = visit.press(
        "place",
        consignment["uid"],
        **{f"line-{lines[0]}": "20", "protocol": "transfer-288@1"},
        container=floor.uids["R1-01"],
        kit=floor.uids["A-1"],
    )

    assert answer.url == reverse("batch", args=[Batch.objects.get().uid])
    assert Balance.objects.get(holder=Batch.objects.get().uid, place="alive").n == 20


def test_placing_more_than_were_counted_is_refused_at_its_line(
    floor, ready, visit, consignment, lines
):
    visit.press("deliver", consignment["uid"])
    visit.press("count-line", lines[0], received="20", doa="1")
    floor.read("R1-01", at=NINE)

    answer = visit.press(
        "place",
        consignment["uid"],
        **{f"line-{lines[0]}": "20", "protocol": "transfer-288@1"},
        container=floor.uids["R1-01"],
        kit=floor.uids["A-1"],
    )

    assert "at most 19 can be placed; you entered 20." in words(answer)
    assert not Batch.objects.exists()


def test_water_that_nobody_measured_stands_against_placing(
    floor, ready, visit, consignment, lines
):
    visit.press("deliver", consignment["uid"])
    visit.press("count-line", lines[0], received="20", doa="0")

    answer = visit.press(
        "place",
        consignment["uid"],
        **{f"line-{lines[0]}": "20", "protocol": "transfer-288@1"},
        container=floor.uids["R1-02"],
        kit=floor.uids["A-1"],
    )

    assert answer.status_code == 409
    assert "This stands against it" in words(answer)
    assert not Batch.objects.exists()


def test_pressed_twice_is_counted_once(visit, consignment, lines):
    visit.press("deliver", consignment["uid"])
    press = {"received": "20", "doa": "0", "request_key": "one press"}

    visit.press("count-line", lines[0], **press)
    answer = visit.press("count-line", lines[0], **press)

    assert answer.status_code == 302
    assert Balance.objects.get(holder=lines[0], place="received").n == 20


def test_the_same_form_with_other_values_is_asked_about(visit, consignment, lines):
    visit.press("deliver", consignment["uid"])
    visit.press("count-line", lines[0], box="1", received="20", doa="0", request_key="k")

    answer = visit.press(
        "count-line", lines[0], box="2", received="8", doa="0", request_key="k"
    )

    assert answer.status_code == 400
    assert "This form was recorded before." in words(answer)
    assert 'name="request_key" value="k"' not in answer.content.decode()


def test_an_auditor_looks_and_is_offered_nothing(floor, consignment, lines):
    auditor = floor.walk.as_person("Otto", "auditor")
    visit = Visit.by(auditor.person, NINE)

    assert "The boxes are here" not in visit.read("consignment", consignment["uid"])
    assert visit.press("deliver", consignment["uid"]).status_code == 403
    assert visit.get("count-line", lines[0]).status_code == 403


@pytest.mark.parametrize("name", ["consignment", "deliver", "place", "count-line"])
def test_what_is_not_there_is_not_found(visit, name):
    answer = visit.get(name, "01890000-0000-7000-8000-000000000000")

    assert answer.status_code == 404
