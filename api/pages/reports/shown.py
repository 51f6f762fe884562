"""A report as people read it: words for codes, the site's clocks, and no empty columns."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice

from django.utils.translation import gettext as _

from api.language import local_text
from api.pages.links import when
from api.pages.parts import Table
from api.pages.reports.words import head, said
from protocols.clocks import elapsed_text
from stock.queries.reports import Asked, Cell, Column, Report, Row, Sort

MOST = 200
NUMBERS = (Sort.NUMBER, Sort.SPAN)
# That nobody is too many or too few is said.
ALWAYS = frozenset({"difference", "alive"})


@dataclass(frozen=True, slots=True)
class OnScreen:
    """The first rows as a table; `more` says that the files have others."""

    table: Table
    more: bool


def on_screen(report: Report, asked: Asked, caption: str) -> OnScreen:
    """At most `MOST` rows. Columns in which nothing stands, or only zeros, are left out."""
    rows = list(islice(report.rows(asked), MOST + 1))
    shown = rows[:MOST]
    columns = filled(report.columns, shown)
    table = Table(
        caption,
        tuple(head(one) for _place, one in columns),
        read(columns, shown, lambda moment: when(moment, asked.zone)),
        frozenset(n for n, (_place, one) in enumerate(columns) if one.sort in NUMBERS),
        _("Nothing of this was told in these days."),
    )
    return OnScreen(table, len(rows) > MOST)


def as_text(
    report: Report, asked: Asked, rows: Sequence[Row]
) -> tuple[list[str], list[list[str]]]:
    """Heads and cells as plain texts, for paper."""
    columns = filled(report.columns, rows)
    cells = read(columns, rows, lambda moment: local_text(moment, asked.zone))
    return [head(one) for _place, one in columns], [[str(one) for one in row] for row in cells]


def filled(columns: Sequence[Column], rows: Sequence[Row]) -> list[tuple[int, Column]]:
    """The columns in which something stands, with their place; all for no rows."""
    return [
        (place, one)
        for place, one in enumerate(columns)
        if not rows or one.name in ALWAYS or any(row[place] not in (None, 0) for row in rows)
    ]


def read(
    columns: Sequence[tuple[int, Column]],
    rows: Iterable[Row],
    moment: Callable[[datetime], str],
) -> list[list[object]]:
    return [[_cell(column, row[place], moment) for place, column in columns] for row in rows]


def _cell(column: Column, cell: Cell, moment: Callable[[datetime], str]) -> object:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return moment(cell)
    if isinstance(cell, timedelta):
        return elapsed_text(cell)
    if column.sort is Sort.CODE:
        return said(cell)
    return cell
