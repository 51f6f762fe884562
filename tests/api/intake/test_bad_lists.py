"""Files that are no packing lists, and fields that say nothing."""

import json

import pytest

from stock.files import path_of
from stock.models import Import, StoredFile
from tests.api.intake.lists import PLAIN
from tests.api.test_limits import Unread
from tests.stock import workbooks


def wide(book, sheet):
    sheet.write_row(0, 0, ["Species", "Qty"])
    sheet.write(1, 16_383, "far")


@pytest.mark.parametrize(
    ("content", "status", "code"),
    [
        (b"", 415, "not_a_table"),
        (b"hello", 415, "not_a_table"),
        (b"%PDF-1.7 x", 415, "not_a_table"),
        (b"\x89PNG\r\n\x1a\n\x00", 415, "not_a_table"),
        (b"Species,Qty\n\x00,1\n", 415, "not_a_table"),
        (b"Species,Qty\n" + b"," * 1_000_000, 413, "too_large"),
        (workbooks.workbook(wide), 413, "too_large"),
        (workbooks.FAR_APART, 413, "too_large"),
        (workbooks.repacked(**{workbooks.SHEET: b" " * 200_000_000}), 413, "too_large"),
        (workbooks.SMALL[:400], 400, "unreadable"),
        (b'Species,Qty\n"Gramma', 400, "unreadable"),
    ],
)
def test_a_file_that_is_no_packing_list_is_refused_and_not_kept(
    send, tmp_path, content, status, code
):
    answer = send(content, "list.xlsx")

    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert answer.json()["reasons"][0]["pointer"] == "/file"
    assert [one for one in (tmp_path / "files").rglob("*") if one.is_file()] == []
    assert not Import.objects.exists()
    assert not StoredFile.objects.exists()


def test_a_table_without_the_needed_columns_names_them(preview):
    listing = preview("Colour,Shape\nred,round\n")

    told = [(one["code"], one["value"]) for one in listing["problems"]]
    assert told == [("missing_column", "species"), ("missing_column", "quantity")]
    assert listing["may_be_applied"] is False


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"supplier": "x"}, "/supplier"),
        ({"answers": "day first"}, "/answers"),
        ({"answers": "[1]"}, "/answers"),
        ({"answers": "[" * 20_000}, "/answers"),
        ({"answers": '{"date_order": 1.5}'}, "/answers/date_order"),
        ({"answers": '{"sheet": "a\\u0000b"}'}, "/answers/sheet"),
        ({"file": "no file"}, "/file"),
        ({"colour": "blue"}, "/colour"),
    ],
)
def test_bad_fields_are_named(send, fields, pointer):
    answer = send(PLAIN, **fields)

    assert answer.status_code == 400
    assert answer.json()["reasons"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    "answers",
    [
        {"date_order": "never"},
        {"decimal": "'"},
        {"mapping": []},
        {"mapping": {"Qty": "colour"}},
        {"mapping": {"Qty": []}},
        {"species": "Gramma"},
        {"sheet": "No such"},
        {"box_blank": {}},
        {"column_species": "Qty"},
        {"encoding": "klingon"},
        {"encoding": 8},
    ],
)
def test_answers_that_answer_nothing_do_no_harm(send, answers):
    answer = send(PLAIN, answers=json.dumps(answers))

    assert answer.status_code == 201


def test_an_upload_of_two_hundred_megabytes_is_refused_unread(walk):
    answer = walk.client.post(
        f"/api/v1/sites/{walk.site}/imports",
        content_type="multipart/form-data; boundary=x",
        headers={"Authorization": f"Bearer {walk.token}"},
        **{"wsgi.input": Unread(), "CONTENT_LENGTH": "200000000"},
    )

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


def test_a_request_that_is_no_form_is_refused(walk):
    problem = walk.refused(f"sites/{walk.site}/imports", {"supplier": "x"})

    assert (problem.status, problem.code) == (400, "unreadable")


def test_an_original_that_is_gone_is_asked_for_again(walk, preview):
    listing = preview(PLAIN)
    path_of(listing["sha256"]).unlink()

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (400, "unreadable")
    assert "send the file again" in problem.body["detail"]
