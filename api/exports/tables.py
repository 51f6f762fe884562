"""The records of a span of days as CSV files in one zip, safe to open in a spreadsheet."""

import csv
import io
import zipfile
from collections.abc import Iterable
from typing import IO, Any

from protocols.clocks import utc_text
from protocols.spreadsheets import safe_cell
from stock.queries.audit import AuditTable, Cell, Span, tables

# One moment for every member: the same records give the same bytes.
MEMBER_DATE = (1980, 1, 1, 0, 0, 0)
READ_ME = """Records of site {site}
from {begins} (included) to {ends} (not included), times in UTC and as local text.

Cells are safe for spreadsheets: a text that a spreadsheet program could take for a formula
has an apostrophe before it; take one apostrophe away to have the text as it was typed.
Numbers were never changed. People are named by the ids of the record book.

{files}
"""


def write_records(span: Span, into: IO[bytes]) -> None:
    """Write the zip, row by row: memory does not grow with the span."""
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        says = [(one, _write_table(archive, one, span)) for one in tables()]
        files = "\n".join(f"{one.name}.csv: {count} rows. {one.says}" for one, count in says)
        text = READ_ME.format(
            site=span.site,
            begins=utc_text(span.begins),
            ends=utc_text(span.ends),
            files=files,
        )
        archive.writestr(_member("README.txt"), text)


def _write_table(archive: zipfile.ZipFile, table: AuditTable, span: Span) -> int:
    count = 0
    with archive.open(_member(f"{table.name}.csv"), "w", force_zip64=True) as member:
        text = io.TextIOWrapper(member, encoding="utf-8", newline="")
        writer = csv.writer(text, lineterminator="\r\n")
        _write_row(writer, table.columns)
        for row in table.rows(span):
            _write_row(writer, row)
            count += 1
        text.flush()
        text.detach()
    return count


def _write_row(writer: Any, cells: Iterable[Cell]) -> None:
    writer.writerow([safe_cell(cell) for cell in cells])


def _member(name: str) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name, MEMBER_DATE)
    member.compress_type = zipfile.ZIP_DEFLATED
    return member
