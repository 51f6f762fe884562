import io
from datetime import date, datetime, time

import pytest

from protocols.list_values import Row
from protocols.lists import understand
from stock.tables import read_table
from tests.make_lists import FIXTURES, WORKBOOK, sample_atoll
from tests.stock.workbooks import texts, workbook


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found_and_told(separator):
    text = f"Box{separator}Species{separator}Qty\n1{separator}Chromis viridis{separator}12\n"

    table = read_table(text.encode(), "list.csv")

    assert table.understood["separator"] == separator
    assert table.rows[1] == Row(2, ("1", "Chromis viridis", "12"), "ttt", 3)


def test_decimal_commas_do_not_pass_for_separators():
    data = b"Box;Price\n1;12,50\n2;1,25\n"

    assert texts(data) == [("Box", "Price"), ("1", "12,50"), ("2", "1,25")]


def test_a_separator_named_in_the_first_line_is_believed():
    assert texts(b"sep=|\r\na,b|c\r\n1,2|3\r\n") == [("a,b", "c"), ("1,2", "3")]


def test_the_mark_of_byte_order_is_taken_off_and_told():
    table = read_table(b"\xef\xbb\xbfBox;Qty\n1;2\n", "list.csv")

    assert table.rows[0].cells == ("Box", "Qty")
    assert table.understood["bom"] is True


def test_quoted_fields_may_hold_separators_quotes_and_line_breaks():
    table = read_table(b'a,b\n"1,5","say ""x""\nnow"\n2,3\n', "list.csv")

    assert table.rows[1].cells == ("1,5", 'say "x"\nnow')
    assert table.rows[2].number == 3


def test_empty_rows_keep_the_numbers_of_the_others():
    table = read_table(b"a,b\n\n,,\n1,2,,\n", "list.csv")

    assert [(row.number, row.cells, row.width) for row in table.rows] == [
        (1, ("a", "b"), 2),
        (4, ("1", "2"), 4),
    ]


def test_numbers_of_a_workbook_have_no_noise_and_dates_are_real():
    def write(book, sheet):
        day = book.add_format({"num_format": "d mmm yyyy"})
        sheet.write_row(0, 0, [12.5, 3.0, 0.1 + 0.2, 123456789012, -2, "1,250", True])
        sheet.write_datetime(0, 7, date(2027, 4, 3), day)
        sheet.write_datetime(0, 8, datetime(2027, 4, 3, 7, 12), day)  # noqa: DTZ001
        sheet.write_datetime(0, 9, time(7, 12), book.add_format({"num_format": "hh:mm"}))

    (row,) = read_table(workbook(write), "list.xlsx").rows

    assert row.cells[:7] == ("12.5", "3", "0.3", "123456789012", "-2", "1,250", "TRUE")
    assert row.cells[7:] == ("2027-04-03", "2027-04-03T07:12:00", "07:12:00")
    assert row.kinds == "nnnnnttddt"


def test_rows_and_columns_of_a_workbook_keep_their_places():
    (row,) = read_table(workbook(lambda book, sheet: sheet.write(4, 2, "x")), "a").rows

    assert (row.number, row.cells) == (5, ("", "", "x"))


def test_a_cell_merged_downwards_is_marked_where_it_covers():
    def write(book, sheet):
        sheet.merge_range(0, 0, 2, 0, "Box 1")
        sheet.write_column(0, 1, ["a", "b", "c"])

    rows = read_table(workbook(write), "list.xlsx").rows

    assert [(row.cells, row.kinds) for row in rows] == [
        (("Box 1", "a"), "tt"),
        (("Box 1", "b"), "mt"),
        (("Box 1", "c"), "mt"),
    ]


def test_every_sheet_that_is_shown_is_read():
    def write(book, sheet):
        sheet.write(0, 0, "one")
        book.add_worksheet("Second").write(0, 0, "two")
        hidden = book.add_worksheet("Rates")
        hidden.write(0, 0, "three")
        hidden.hide()

    table = read_table(workbook(write), "list.xlsx")

    assert [(sheet.name, len(sheet.rows)) for sheet in table.sheets] == [
        ("List", 1),
        ("Second", 1),
    ]
    assert table.understood["hidden_sheets"] == ["Rates"]


def test_a_path_and_an_upload_are_read_alike():
    path = FIXTURES / "lautan-contoh.csv"

    assert read_table(path, "a.csv") == read_table(io.BytesIO(path.read_bytes()), "a.csv")


@pytest.mark.parametrize(
    ("name", "lines", "listed", "waybill"),
    [
        ("lautan-contoh.csv", 46, 132, "999-12345675"),
        ("ejemplo-del-golfo.csv", 10, 48, "999-24681353"),
        ("sample-atoll.xlsx", 10, 27, "999-76543213"),
    ],
)
def test_the_lists_of_the_invented_suppliers_are_understood(name, lines, listed, waybill):
    understood = understand(read_table(FIXTURES / name, name), today=date(2026, 9, 20))

    assert understood.may_be_applied
    assert not understood.problems
    assert (len(understood.lines), understood.listed) == (lines, listed)
    assert understood.waybill == waybill
    assert all(line.box and line.bag and line.scientific_name for line in understood.lines)


def test_the_workbook_in_the_fixtures_is_the_one_that_is_made():
    made = read_table(sample_atoll(), WORKBOOK.name)

    assert read_table(WORKBOOK, WORKBOOK.name) == made
