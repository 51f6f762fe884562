import contextlib
import io
import struct
import subprocess
import sys
import zipfile
from datetime import date, datetime, time

import pytest
import xlsxwriter
from hypothesis import example, given, settings
from hypothesis import strategies as st

from protocols.list_values import Row
from protocols.lists import understand
from stock import tables_child, tables_limits
from stock.tables import TEXTS, Unreadable, read_table
from stock.tables_limits import Printer, Refusal
from tests.make_lists import FIXTURES, WORKBOOK, sample_atoll

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
SHEET = "xl/worksheets/sheet1.xml"


def workbook(write):
    """An XLSX file whose only sheet `write` fills; it is handed the book and the sheet."""
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made, {"in_memory": True})
    write(book, book.add_worksheet("List"))
    book.close()
    return made.getvalue()


def corners(book, sheet):
    """Two cells that span all that a spreadsheet may hold."""
    sheet.write(0, 0, 1)
    sheet.write(1_048_575, 16_383, 1)


SMALL = workbook(lambda book, sheet: sheet.write_row(0, 0, ["Species", "Qty"]))
FAR_APART = workbook(corners)


def repacked(**parts):
    """The small workbook with some of its parts replaced."""
    made = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(SMALL)) as source,
        zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            target.writestr(name, parts.get(name, source.read(name)))
    return made.getvalue()


def belittled(data, name):
    """The same zip, whose directory says that one part unpacks to a single byte."""
    changed = bytearray(data)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        honest = struct.pack("<L", packed.getinfo(name).file_size)
    place = changed.rindex(honest)
    changed[place : place + 4] = struct.pack("<L", 1)
    return bytes(changed)


def zipped(*names):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as target:
        for name in names:
            target.writestr(name, "x")
    return made.getvalue()


def texts(data, **given):
    return [row.cells for row in read_table(data, "list", **given).rows]


def refused(data, **given):
    with pytest.raises(Unreadable) as told:
        read_table(data, "list", **given)
    return told.value


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


def test_another_encoding_is_refused_with_the_line_and_what_it_could_be():
    data = b"Nombre;N\n" + b"a;1\n" * 5 + "Gobio neón;6\n".encode("windows-1252")

    told = refused(data)

    assert (told.code, told.why, told.status) == ("unreadable", "not_utf8", 400)
    assert str(told) == "Cannot read as UTF-8, line 7."
    assert {"value": "windows-1252", "shows": "Gobio neón;6"} in told.numbers["choices"]


@pytest.mark.parametrize("encoding", ["windows-1252", "macintosh", "utf-16", "utf-8"])
def test_the_encoding_that_was_chosen_is_used(encoding):
    data = "Nombre;N\nGobio neón;6\n".encode(encoding)

    assert texts(data, encoding=encoding)[1] == ("Gobio neón", "6")


def test_a_chosen_encoding_that_does_not_fit_is_refused():
    told = refused(b"a;b\n\x81;1\n", encoding="windows-1252")

    assert (told.code, told.why, told.numbers["line"]) == ("unreadable", "not_in_encoding", 2)


@pytest.mark.parametrize("encoding", ["latin-1", "rot13", "\0", "é"])
def test_an_encoding_that_is_not_offered_is_refused(encoding):
    assert refused(b"a;b\n1;2\n", encoding=encoding).why == "unknown_encoding"


def test_a_text_in_sixteen_bits_is_offered_as_that():
    told = refused("Nombre;N\nneón;6\n".encode("utf-16"))

    assert told.numbers["choices"] == [{"value": "utf-16", "shows": "Nombre;N"}]


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "empty"),
        (b" \n\r\n ", "empty"),
        (b",,,\n,,\n", "empty"),
        (b"Dear all,\nthe fish\nare fine\n".replace(b",", b""), "no_separator"),
        (b"\x89PNG\r\n\x1a\n\0\0", "other_kind"),
        (b"%PDF-1.7\n", "other_kind"),
        (b"<html><table>", "other_kind"),
        (b"a,b\n1,\0\n", "other_kind"),
        (OLE + b"\0" * 600, "other_kind"),
        (zipped("word/document.xml"), "other_kind"),
        (workbook(lambda book, sheet: None), "empty"),
    ],
)
def test_what_is_no_table_is_refused_whatever_its_name(data, why):
    told = refused(data)

    assert (told.code, told.why, told.status) == ("not_a_table", why, 415)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (SMALL[:-200], "broken"),
        (SMALL[: len(SMALL) // 2], "broken"),
        (b"PK\x03\x04" + b"x" * 100, "broken"),
        (repacked(**{SHEET: b"<worksheet><sheetData><row><c><v>1</w"}), "broken"),
        (repacked(**{"xl/workbook.xml": b""}), "broken"),
        (OLE + "EncryptedPackage".encode("utf-16-le"), "password"),
        (OLE + "Workbook".encode("utf-16-le") + b"\0" * 600, "broken"),
        (b'a,b\n1,"2\n3,4\n', "quotes"),
    ],
)
def test_what_cannot_be_read_is_refused(data, why):
    told = refused(data)

    assert (told.code, told.why, told.status) == ("unreadable", why, 400)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"," * 1_000_000, "columns"),
        (b"a," * 101 + b"\n", "columns"),
        (b"a,b\n" * 10_001, "rows"),
        (b"a,b\n" + b"\n" * 200_001 + b"a,b\n", "rows"),
        (b"a,b\n1," + b"x" * 5_001, "characters_in_cell"),
        ((b"a," * 99 + b"a\n") * 2_001, "cells"),
        ((b"a," + b"x" * 4_000 + b"\n") * 1_001, "characters"),
        (repacked(**{SHEET: b" " * (101 * 1024 * 1024)}), "unpacked"),
        (zipped(*(f"{number}" for number in range(2_001))), "unpacked"),
        (workbook(lambda book, sheet: sheet.write(0, 16_383, "far")), "columns"),
        (
            workbook(
                lambda book, sheet: [sheet.write(0, 0, 1), sheet.write(1048575, 16383, 1)]
            ),
            "memory",
        ),
    ],
)
def test_what_is_larger_than_any_packing_list_is_refused(data, why):
    told = refused(data)

    assert (told.code, told.why, told.status) == ("too_large", why, 413)


def test_a_bomb_honest_or_lying_ends_only_the_process_that_reads_it():
    cell = b'<c t="inlineStr"><is><t>' + b"x" * (90 * 1024 * 1024) + b"</t></is></c>"
    bomb = repacked(**{SHEET: b"<worksheet><sheetData><row>" + cell + b"</row></sheetData>"})

    honest, lying = refused(bomb), refused(belittled(bomb, SHEET))

    assert (honest.code, honest.why) == ("too_large", "memory")
    assert (lying.code, lying.why) == ("unreadable", "broken")


class Endless:
    """An upload that never ends, and remembers how much of it was taken."""

    taken = 0

    def read(self, size=-1, /):
        assert size > 0
        self.taken += size
        return b"a,b\n" * (size // 4)


def test_an_upload_is_copied_in_pieces_and_no_further_than_it_may_be():
    upload = Endless()

    told = refused(upload)

    assert (told.code, told.why, told.status) == ("too_large", "bytes", 413)
    assert upload.taken < tables_limits.MOST_BYTES + 1024 * 1024


def test_a_reading_that_takes_too_long_is_ended(monkeypatch):
    monkeypatch.setattr(tables_limits, "WALL_S", 0)

    told = refused(b"a,b\n1,2\n")

    assert (told.code, told.why) == ("too_large", "time")


def test_the_reading_process_knows_no_framework():
    asks = "import sys, stock.tables_child; sys.exit('django' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", asks], check=False).returncode == 0


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


BYTES = st.binary(max_size=300)
STARTS = st.sampled_from(
    [b"", b"PK\x03\x04", OLE, b"\xef\xbb\xbf", b"\xff\xfe", b"a,b\n", b'"', b"sep=;\n"]
)


def outcome(data, encoding="utf-8"):
    """What the reading process makes of these bytes: a format, or why it refuses."""
    try:
        return tables_child.read(io.BytesIO(data), encoding, Printer(io.StringIO()))["format"]
    except Refusal as refusal:
        return refusal.why


@given(STARTS, BYTES, st.sampled_from(["utf-8", "utf-16", "shift_jis", "gb18030", "no"]))
@example(b"sep=;\n", b"", "utf-8")
@example(b"", b"\0\0\0\0", "utf-16")
@example(b"", b"\r\xff,", "utf-8")
def test_any_bytes_are_read_or_refused(start, rest, encoding):
    assert outcome(start + rest, encoding) in {"csv", "xlsx", *TEXTS}


@settings(max_examples=60)
@given(st.integers(0, len(SMALL) - 1), st.integers(0, 255))
def test_a_workbook_with_one_wrong_byte_is_read_or_refused(place, byte):
    data = bytearray(SMALL)
    data[place] = byte

    assert outcome(bytes(data)) in {"xlsx", *TEXTS}


@settings(max_examples=10)
@given(STARTS, BYTES)
def test_the_process_answers_whatever_the_bytes(start, rest):
    with contextlib.suppress(Unreadable):
        assert read_table(start + rest, "list").rows
