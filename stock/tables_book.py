"""Workbooks (XLSX, XLS, ODS) into rows. Runs inside the reading process only."""

import datetime
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, BinaryIO

from protocols.list_values import DATE, MERGED, NUMBER, TEXT
from stock.tables_limits import (
    LAST_ROW,
    MOST_PARTS,
    MOST_UNPACKED_BYTES,
    Printer,
    Refusal,
)

OLD_BOOK_PARTS = ("Workbook", "Book")
# A zip of a newer version than the library reads is a RuntimeError of a special kind.
UNREADABLE_ZIP = (zipfile.BadZipFile, ValueError, RuntimeError, OSError)
Place = tuple[int, int]


def check_ole(data: bytes) -> None:
    """Old workbooks and locked ones share a container with other kinds of document."""
    if "EncryptedPackage".encode("utf-16-le") in data:
        raise Refusal("unreadable", "password")
    if not any(name.encode("utf-16-le") in data for name in OLD_BOOK_PARTS):
        raise Refusal("not_a_table", "other_kind")


def check_zip(file: BinaryIO) -> None:
    """Judge a zip by its directory before anything of it is unpacked."""
    try:
        with zipfile.ZipFile(file) as packed:
            parts = packed.infolist()
    except UNREADABLE_ZIP as broken:
        raise Refusal("unreadable", "broken") from broken
    unpacked = sum(part.file_size for part in parts)
    if unpacked > MOST_UNPACKED_BYTES or len(parts) > MOST_PARTS:
        raise Refusal("too_large", "unpacked", most=MOST_UNPACKED_BYTES, bytes=unpacked)
    names = {part.filename for part in parts}
    if not names & {"xl/workbook.xml", "xl/workbook.bin", "content.xml"}:
        raise Refusal("not_a_table", "other_kind")
    if any(part.flag_bits & 1 for part in parts):
        raise Refusal("unreadable", "password")


def read_workbook(file: BinaryIO, printer: Printer) -> dict[str, Any]:
    """Print the rows of every sheet that is not hidden."""
    import python_calamine as calamine

    file.seek(0)
    try:
        book = calamine.CalamineWorkbook.from_filelike(file)
        names = [sheet.name for sheet in book.sheets_metadata if _is_shown(calamine, sheet)]
        for number, name in enumerate(names):
            _print_sheet(number, book.get_sheet_by_name(name), printer)
    except calamine.PasswordError as locked:
        raise Refusal("unreadable", "password") from locked
    except (calamine.CalamineError, ValueError, OverflowError, OSError) as broken:
        raise Refusal("unreadable", "broken") from broken
    if not printer.rows:
        raise Refusal("not_a_table", "empty")
    hidden = [name for name in book.sheet_names if name not in names]
    return {"format": "xlsx", "sheets": names, "understood": {"hidden_sheets": hidden}}


def _is_shown(calamine: Any, sheet: Any) -> bool:
    shown = sheet.visible == calamine.SheetVisibleEnum.Visible
    return bool(shown and sheet.typ == calamine.SheetTypeEnum.WorkSheet)


def _print_sheet(number: int, sheet: Any, printer: Printer) -> None:
    if sheet.start is None:
        return
    covers = dict(_covered_below(sheet.merged_cell_ranges or [], sheet.end[0]))
    tops = dict.fromkeys(covers.values(), "")
    for row, values in enumerate(sheet.to_python(skip_empty_area=False)):
        cells = [as_text(value) for value in values]
        kinds = [_kind(value) for value in values]
        for column in range(len(cells)):
            top = covers.get((row, column))
            if top is not None and tops[top]:
                cells[column], kinds[column] = tops[top], MERGED
            elif (row, column) in tops:
                tops[row, column] = cells[column]
        printer.row(number, row + 1, cells, "".join(kinds))


def _covered_below(
    ranges: list[tuple[Place, Place]], last: int
) -> Iterator[tuple[Place, Place]]:
    """Cells that a merged cell covers below its first row, each with that first cell."""
    for (first_row, column), (last_row, _) in ranges:
        for row in range(first_row + 1, min(last_row, last, LAST_ROW) + 1):
            yield (row, column), (first_row, column)


def as_text(value: Any) -> str:
    """A cell as people see it: dates in ISO form, numbers without the noise of binary."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return _plain(value)
    if isinstance(value, datetime.datetime):
        midnight = value.time() == datetime.time()
        return value.date().isoformat() if midnight else value.isoformat(timespec="seconds")
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return str(value)


def _plain(value: float) -> str:
    """Fifteen significant digits, the most that a spreadsheet itself shows."""
    number = Decimal(format(value, ".15g"))
    if not number.is_finite() or abs(number) >= Decimal(10) ** 15:
        return str(value)
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _kind(value: Any) -> str:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return NUMBER
    return DATE if isinstance(value, datetime.date) else TEXT
