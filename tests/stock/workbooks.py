"""Files for the tests of uploaded tables: good, broken, bent and hostile workbooks."""

import io
import struct
import zipfile

import pytest
import xlsxwriter

from stock.tables import Unreadable, read_table

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
