import contextlib
import io
import subprocess
import sys

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stock import tables_child, tables_limits
from stock.tables import TEXTS, Unreadable, read_table
from stock.tables_limits import Printer, Refusal
from tests.stock.workbooks import (
    OLE,
    SHEET,
    SMALL,
    belittled,
    refused,
    repacked,
    texts,
    workbook,
    zipped,
)


def test_another_encoding_is_refused_with_the_line_and_what_it_could_be():
    data = b"Nombre;N\n" + b"a;1\n" * 5 + "Gobio neón;6\n".encode("windows-1252")

    told = refused(data)

    assert (told.code, told.why) == ("unreadable", "not_utf8")
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

    assert (told.code, told.why) == ("not_a_table", why)


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

    assert (told.code, told.why) == ("unreadable", why)


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

    assert (told.code, told.why) == ("too_large", why)


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

    assert (told.code, told.why) == ("too_large", "bytes")
    assert upload.taken < tables_limits.MOST_BYTES + 1024 * 1024


def test_a_reading_that_takes_too_long_is_ended(monkeypatch):
    monkeypatch.setattr(tables_limits, "WALL_S", 0)

    told = refused(b"a,b\n1,2\n")

    assert (told.code, told.why) == ("too_large", "time")


def test_the_reading_process_knows_no_framework():
    asks = "import sys, stock.tables_child; sys.exit('django' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", asks], check=False).returncode == 0


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
