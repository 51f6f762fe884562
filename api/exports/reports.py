"""A report as a table in a file: exact for programs, or safe to open in a spreadsheet.

Exact: texts as they were typed, moments in UTC, elapsed time in whole seconds. For
spreadsheets the rule of `protocols/spreadsheets.py` holds for every cell, and beside the moment
in UTC stands the same by the site's clocks. Columns have the same names in both.
"""

import csv
import hashlib
import io
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import IO
from zoneinfo import ZoneInfo

from protocols.clocks import elapsed_text, local_text, utc_text
from protocols.spreadsheets import safe_cell
from stock.queries.reports import Asked, Cell, Column, Report, Row, Sort

Plain = str | int | None


def write_exact(report: Report, asked: Asked, into: IO[bytes]) -> str:
    """The exact table, row by row in constant memory; its SHA-256 as hex."""
    return _write(into, exact_rows(report, report.rows(asked)))


def write_for_spreadsheet(report: Report, asked: Asked, into: IO[bytes]) -> str:
    """The table for spreadsheet programs; its SHA-256 as hex."""
    return _write(into, spreadsheet_rows(report, report.rows(asked), asked.zone))


def exact_rows(report: Report, rows: Iterator[Row]) -> Iterator[list[str]]:
    """The heading and each row as texts; empty for what is not known."""
    yield [_exact_name(one) for one in report.columns]
    for row in rows:
        yield ["" if (cell := exact(one)) is None else str(cell) for one in row]


def spreadsheet_rows(
    report: Report, rows: Iterator[Row], zone: ZoneInfo
) -> Iterator[list[str]]:
    """The heading and each row; moments and elapsed times take two cells each."""
    yield [name for column in report.columns for name in _safe_names(column)]
    for row in rows:
        cells = zip(report.columns, row, strict=True)
        yield [safe_cell(one) for column, cell in cells for one in _safe(column, cell, zone)]


def exact(cell: Cell) -> Plain:
    """A cell as programs read it."""
    if isinstance(cell, datetime):
        return utc_text(cell)
    if isinstance(cell, timedelta):
        return int(cell.total_seconds())
    return cell if cell is None or isinstance(cell, int) else str(cell)


def _safe(column: Column, cell: Cell, zone: ZoneInfo) -> tuple[Plain, ...]:
    if column.sort is Sort.MOMENT:
        local = local_text(cell, zone) if isinstance(cell, datetime) else None
        return exact(cell), local
    if column.sort is Sort.SPAN:
        return exact(cell), elapsed_text(cell) if isinstance(cell, timedelta) else None
    return (exact(cell),)


def _exact_name(column: Column) -> str:
    return column.name + {Sort.MOMENT: "_utc", Sort.SPAN: "_s"}.get(column.sort, "")


def _safe_names(column: Column) -> tuple[str, ...]:
    more = {Sort.MOMENT: (f"{column.name}_local",), Sort.SPAN: (f"{column.name}_hours",)}
    return (_exact_name(column), *more.get(column.sort, ()))


def _write(into: IO[bytes], rows: Iterator[list[str]]) -> str:
    """RFC 4180: UTF-8, commas, CRLF."""
    digest = hashlib.sha256()
    for row in rows:
        line = io.StringIO()
        csv.writer(line, lineterminator="\r\n").writerow(row)
        data = line.getvalue().encode()
        digest.update(data)
        into.write(data)
    return digest.hexdigest()
