"""The same tables as one workbook, to look at: a copy, never the evidence."""

import itertools
import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import IO, Any

from stock.queries.audit import AuditTable
from stock.queries.audit_rows import Row

# A sheet of a workbook ends there (ISO/IEC 29500); what is longer goes on on another.
ROWS_MOST = 1_048_575
# What was typed as a number is one here, so that it can be reckoned with.
AS_NUMBERS = frozenset({"value", "mg_per_l"})
DECIMAL = re.compile(r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?")
AS_TYPED = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}


def write_summary(
    into: IO[bytes], tables: Iterable[tuple[AuditTable, Iterable[Row]]], as_of: datetime
) -> None:
    """Write the workbook. A text is a cell of text, whatever it begins with."""
    import xlsxwriter

    with xlsxwriter.Workbook(into, AS_TYPED) as book:
        # The moment of writing would make other bytes of the same records.
        book.set_properties({"title": "Records", "created": as_of})
        bold = book.add_format({"bold": True})
        for table, rows in tables:
            _write(book, bold, table, iter(rows))


def _write(book: Any, bold: Any, table: AuditTable, rows: Iterator[Row]) -> None:
    numbers = [name in AS_NUMBERS for name in table.columns]
    for n in itertools.count(1):
        part = _part(rows)
        first = next(part, None)
        if first is None and n > 1:
            return
        sheet = book.add_worksheet(table.name if n == 1 else f"{table.name} {n}")
        sheet.write_row(0, 0, table.columns, bold)
        sheet.freeze_panes(1, 0)
        for place, row in enumerate(itertools.chain([first] if first else [], part), 1):
            _write_row(sheet, place, row, numbers)
        if first is None:
            return


def _part(rows: Iterator[Row]) -> Iterator[Row]:
    """As many as one sheet holds."""
    return itertools.islice(rows, ROWS_MOST)


def _write_row(sheet: Any, place: int, row: Row, numbers: list[bool]) -> None:
    for column, (cell, is_number) in enumerate(zip(row, numbers, strict=True)):
        if isinstance(cell, int) or (is_number and cell and DECIMAL.fullmatch(cell)):
            sheet.write_number(place, column, float(cell))
        elif cell is not None:
            sheet.write_string(place, column, cell)
