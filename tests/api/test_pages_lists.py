"""Packing lists on pages: looked through with every problem by its row, then applied."""

import io

import pytest
from django.test import Client

from stock.models import Consignment, Import
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

NINE = "2027-01-20T09:00:00+00:00"
GOOD = "Waybill,176-20270120\nSpecies,Box,Qty\nAmphiprion ocellaris,1,5\nBlue damsel,2,7\n"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), NINE, containers=0, kits=0, ready=False)


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NINE)


@pytest.fixture
def send(visit, floor):
    def send(text, name="list.csv"):
        content = text if isinstance(text, bytes) else text.encode()
        file = io.BytesIO(content)
        file.name = name
        return visit.press("send-list", floor.walk.site, supplier=floor.supplier, file=file)

    return send


def test_a_list_is_looked_through_before_anything_is_entered(visit, send):
    text = visit.follow(send(GOOD))

    assert "12 listed in 2 lines. Nothing is entered yet." in text
    assert "Amphiprion ocellaris Amphiprion ocellaris 1 5" in text
    assert "Blue damsel not known yet 2 7" in text
    assert not Consignment.objects.exists()


def test_it_is_entered_when_somebody_says_so(visit, send):
    send(GOOD)

    text = visit.follow(visit.press("apply-import", Import.objects.get().uid))

    assert "The list is entered. Counts come from the bags alone." in text
    assert "Amphiprion ocellaris 1 5 0 0" in text


def test_the_same_file_again_leads_to_what_is_on_record(visit, send):
    send(GOOD)
    visit.press("apply-import", Import.objects.get().uid)

    text = visit.follow(send(GOOD))

    assert "This list is on record already." in text
    assert "Enter this list" not in text


def test_every_problem_stands_by_its_row(visit, send):
    text = visit.follow(send("Species,Box,Qty\nBlue damsel,1,many\nGoby,1,-2\n"))

    assert "What is wrong in the file" in text
    assert "to put right in the file before it can be entered" in text
    assert "many" in text
    assert "Enter this list" not in text


def test_what_the_file_leaves_open_is_asked_once(visit, send):
    send("Species,Box,Qty,Arrival\nBlue damsel,1,5,03/04/2027\nGoby,1,2,04/04/2027\n")
    listing = Import.objects.get().uid

    asked = visit.read("import", listing)
    text = visit.follow(visit.press("answer-import", listing, date_order="day_first"))

    assert "begin with the day or with the month?" in asked
    assert "What the file leaves open" not in text
    assert "Enter this list" in text


def test_a_later_list_for_the_waybill_shows_what_differs(visit, send):
    send(GOOD)
    visit.press("apply-import", Import.objects.get().uid)

    text = visit.follow(send(GOOD.replace("2,7", "2,8")))

    assert "There is a list for this waybill." in text
    assert "Blue damsel: listed 7 is now 8" in text


def test_a_difference_nobody_accepted_stands_against_it(visit, send):
    send(GOOD)
    visit.press("apply-import", Import.objects.get().uid)
    send(GOOD.replace("2,7", "2,8"))
    second = Import.objects.get(consignment=None).uid

    silent = visit.press("apply-import", second)
    keys = [key for key, _ in silent.context["apply"].fields["accepted"].choices]
    done = visit.press("apply-import", second, accepted=keys)

    assert silent.status_code == 409
    assert done.status_code == 302


@pytest.mark.parametrize(
    ("content", "name"),
    [(b"", "empty.csv"), (b"%PDF-1.7 nothing", "list.pdf"), (b"\x00\x01\x02", "list.xlsx")],
)
def test_what_is_no_table_is_said_at_the_file(send, content, name):
    answer = send(content, name)

    assert answer.status_code in (400, 409)
    assert "Put right" in words(answer) or "Stands against it" in words(answer)
    assert not Import.objects.exists()


def test_a_file_that_is_too_large_is_refused_in_words(visit, floor):
    answer = visit.client.post(
        f"/sites/{floor.walk.site}/packing-lists",
        headers={"Accept": "text/html"},
        content_type="multipart/form-data; boundary=x",
        CONTENT_LENGTH="200000000",
    )

    assert answer.status_code == 413
    assert "can be sent here." in words(answer)


def test_a_keeper_reads_no_lists(floor):
    visit = Visit.by(floor.walk.as_person("Kim", "keeper").person, NINE)

    assert visit.get("send-list", floor.walk.site).status_code == 403
    assert "Read a packing list" not in visit.read("unpacking", floor.walk.site)
