"""Sheets for a power cut: what stands on them, and that each line is typed in once."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from protocols.paper import line_fact
from stock.models import Batch, Fact, PaperSheet, StayRow
from tests.floor import Floor
from tests.pdf import pages
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

EVENING, MORNING = "2027-01-13T20:00:00+00:00", "2027-01-14T12:00:00+00:00"
WRITTEN = "2027-01-14T07:30"
PHOTO = b"\x89PNG\r\n\x1a\n" + bytes(64)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )
    floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, EVENING)


@pytest.fixture
def sheet(visit, floor):
    printed = visit.press("print-paper", floor.walk.site)
    assert printed.status_code == 302
    visit.at = MORNING
    floor.walk.at(MORNING)
    return PaperSheet.objects.get()


def line(sheet, kind):
    return next(one for one in sheet.lines if one["kind"] == kind)


def form_of(visit, sheet, n):
    """Where a line is typed in."""
    answer = visit.get("paper-line", sheet.uid, n)
    assert answer.status_code == 302
    return answer.url


def shown(visit, address):
    return words(visit.client.get(address, headers={"Fillmark-Now": visit.at}))


def type_in(visit, address, **fields):
    return visit.client.post(
        address, {"request_key": "any", **fields}, headers={"Fillmark-Now": visit.at}
    )


def moved(floor, **changes):
    told = {
        "when": WRITTEN,
        "doer": floor.walk.person,
        "reason": "Power cut, written on paper.",
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "searched": "on",
        "ended_stay": str(StayRow.objects.first().uid),
    }
    return {**told, **changes}


def test_a_sheet_holds_what_is_due_with_numbers_and_stays_as_it_was_printed(visit, sheet):
    answer = visit.get("paper-pdf", sheet.uid)

    kinds = [one["kind"] for one in sheet.lines]
    assert [one["n"] for one in sheet.lines] == list(range(1, len(sheet.lines) + 1))
    assert {"move", "round", "reading", "loss", "spare"} <= set(kinds)
    assert line(sheet, "move")["due"] == "2027-01-14T08:00:00Z"
    assert line(sheet, "round")["inside"] == ["R1-01"]
    assert answer["Content-Type"] == "application/pdf"
    assert len(pages(answer.content)) == 2
    assert visit.get("paper-pdf", sheet.uid).content == answer.content


def test_a_line_is_typed_in_with_when_it_happened_and_a_photo_of_the_sheet(visit, floor, sheet):
    photo = SimpleUploadedFile("sheet.png", PHOTO)
    kept = visit.press("paper-sheet", sheet.uid, photo=photo)
    n = line(sheet, "move")["n"]
    address = form_of(visit, sheet, n)

    offered = visit.client.get(address, headers={"Fillmark-Now": MORNING}).content.decode()
    answer = type_in(visit, address, **moved(floor))

    assert kept.status_code == 302
    assert f"Power cut, written on paper sheet {sheet.code}, line {n}." in offered
    assert (answer.status_code, answer.url) == (302, f"/paper/{sheet.uid}")
    fact = Fact.objects.get(uid=line_fact(sheet.uid, n))
    sheet.refresh_from_db()
    assert (fact.kind, fact.standing, fact.reason) == (
        "batch_moved",
        "happened",
        "Power cut, written on paper.",
    )
    assert fact.performed_at.isoformat() == "2027-01-14T07:30:00+00:00"
    assert fact.files == sheet.photos != []
    assert f"1 of {len(sheet.lines)} typed in" in shown(visit, answer.url)


def test_a_line_is_on_record_once_whoever_types_it_in_again(visit, floor, sheet):
    n = line(sheet, "move")["n"]
    address = form_of(visit, sheet, n)
    type_in(visit, address, **moved(floor))
    before = Fact.objects.count()
    keeper = floor.walk.as_person("Ola", "keeper")
    told = Fact.objects.count()

    again = type_in(visit, address, **moved(floor, count="15"))
    another = type_in(Visit.by(keeper.person, MORNING), address, **moved(floor))

    said = f"Line {n} of sheet {sheet.code} is on record already. Nothing was added."
    assert said in words(again)
    assert said in words(another)
    assert Fact.objects.count() == told >= before


def test_a_blank_line_asks_where_it_was(visit, floor, sheet):
    batch = Batch.objects.get()
    blank = line(sheet, "loss")["n"]

    asked = visit.read("paper-line", sheet.uid, blank)
    led = visit.press("paper-line", sheet.uid, blank, batch=str(batch.uid))
    told = {"count": "1", "fate": "dead", "cause": "unknown", "when": WRITTEN}
    told |= {"standing": "happened", "reason": "Power cut."}
    answer = type_in(visit, led.url, **told)

    assert "In which container was it?" in asked
    assert answer.status_code == 302, words(answer)
    assert Fact.objects.get(uid=line_fact(sheet.uid, blank)).kind == "loss_recorded"


def test_what_the_sheet_does_not_say_is_asked_for(visit, floor, sheet):
    address = form_of(visit, sheet, line(sheet, "reading")["n"])

    answer = type_in(visit, address, standing="happened")

    assert answer.status_code == 400
    assert "Write what the sheet says." in words(answer)


@pytest.mark.parametrize("named", ["1", "nonsense.1", "{sheet}.0", "{sheet}.999", "{sheet}.x"])
def test_a_line_that_is_not_there_is_not_found(visit, floor, sheet, named):
    address = reverse("read-water", args=[floor.uids["R1-01"]])
    paper = named.format(sheet=sheet.uid)

    answer = visit.client.get(
        f"{address}?from_sheet={paper}", headers={"Fillmark-Now": MORNING}
    )

    assert answer.status_code == 404


def test_an_auditor_and_another_shop_have_no_sheet(visit, floor, sheet):
    auditor = Visit.by(floor.walk.as_person("Pell", "auditor").person, MORNING)

    assert auditor.get("paper", floor.walk.site).status_code == 403
    PaperSheet.objects.update(site="00000000-0000-7000-8000-000000000000")
    assert visit.get("paper-sheet", sheet.uid).status_code == 404


def test_scanning_the_sheet_opens_it(visit, floor, sheet):
    answer = visit.get("scan", floor.walk.site, query=f"?code={sheet.code}")

    assert answer.url == f"/paper/{sheet.uid}"


def test_the_command_prints_a_sheet_of_every_site(floor, tmp_path, capsys):
    call_command("paper", into=tmp_path)

    (file,) = tmp_path.glob("sheet-*.pdf")
    assert file.read_bytes().startswith(b"%PDF-")
    assert str(file) in capsys.readouterr().out
    assert PaperSheet.objects.get().made_by is None
