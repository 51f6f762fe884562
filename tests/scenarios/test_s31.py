"""S-31: semicolons, comma decimals and an invisible first character."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.walk import Walk

TODAY = "2027-03-20T09:00:00+01:00"
MARK = "\ufeff"
SAVED = f"""{MARK}Box;Species;Qty;Price;Colour
1;Gobio neón;6;12,50;azul
2;Pez ángel;2;1.250,00;blanco
"""


@pytest.fixture
def walk(transactional_db, client, settings, tmp_path):
    settings.TEST_CLOCK = True
    settings.DATA = tmp_path
    return Walk.begin(client, TODAY)


@pytest.fixture
def preview(walk):
    supplier = walk.post("suppliers", {"name": "Lautan Contoh"})["supplier"]["uid"]

    def preview(content, **answers):
        data = content if isinstance(content, bytes) else content.encode()
        form = {"supplier": supplier, "file": SimpleUploadedFile("lista.csv", data)}
        if answers:
            form["answers"] = json.dumps(answers)
        headers = {"Fillmark-Now": walk.now, "Authorization": f"Bearer {walk.token}"}
        address = f"/api/v1/sites/{walk.site}/imports"
        return walk.client.post(address, form, headers=headers).json()["import"]

    return preview


def prices(listing):
    return [line["price"] for line in listing["lines"]]


def test_s31_1_the_unseen_character_is_no_part_of_the_first_heading(preview):
    listing = preview(SAVED)

    assert [line["box"] for line in listing["lines"]] == ["1", "2"]
    assert listing["understood"]["columns"][0] == {"column": "Box", "holds": "box"}


def test_s31_2_the_separator_is_found_and_shown(preview):
    assert preview(SAVED)["understood"]["separator"] == ";"


def test_s31_3_a_comma_is_decimal_where_semicolons_separate(preview):
    assert prices(preview(SAVED)) == ["12.50", "1250.00"]


def test_s31_4_what_could_be_either_is_asked(preview):
    listing = preview('Species,Qty,Price\nGramma loreto,6,"1,250"\n')

    (question,) = listing["questions"]
    assert question["key"] == "decimal"
    assert listing["may_be_applied"] is False


def test_s31_5_unknown_columns_are_listed_and_ignored(preview):
    listing = preview(SAVED)

    assert listing["understood"]["ignored"] == ["Colour"]
    assert listing["may_be_applied"] is True


def test_s31_6_missing_columns_refuse_the_file_with_their_names(preview):
    listing = preview("Box;Price\n1;12,50\n")

    missing = [(one["code"], one["value"]) for one in listing["problems"]]
    assert missing == [("missing_column", "species"), ("missing_column", "quantity")]
    assert listing["may_be_applied"] is False


def test_s31_7_another_encoding_is_said_with_its_line_and_can_be_chosen(preview):
    data = SAVED.removeprefix(MARK).replace("neón", "neon").encode("windows-1252")

    listing, chosen = preview(data), preview(data, encoding="windows-1252")

    (problem,) = listing["problems"]
    assert problem["row"] == 3
    assert "UTF-8" in problem["detail"]
    assert "windows-1252" in [one["value"] for one in listing["questions"][0]["choices"]]
    assert [line["text"] for line in chosen["lines"]] == ["Gobio neon", "Pez ángel"]
