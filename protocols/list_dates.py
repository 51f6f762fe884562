"""Dates of a packing list: one column has one order of day and month, never a guessed one."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from protocols.list_text import clean
from protocols.list_values import DATE, Choice, Note, Question
from protocols.list_words import key
from protocols.said import said

ORDERS = {"day_first": "day first", "month_first": "month first"}
ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\d{1,2}:\d{2}.*)?", re.ASCII)
SHORT = re.compile(
    r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4}|\d{2})(?:[T ]\d{1,2}:\d{2}.*)?", re.ASCII
)
NAMED = re.compile(r"(\d{1,2}) (?:de )?([^\W\d]+) (?:de )?(\d{4}|\d{2})")
NAMED_FIRST = re.compile(r"([^\W\d]+) (\d{1,2})(?:st|nd|rd|th)? (\d{4})")
ENGLISH = (
    "january february march april may june july august september october november december"
)
MONTHS = (
    ENGLISH,
    "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    "janvier fevrier mars avril mai juin juillet aout septembre octobre novembre decembre",
    "januar februar marz april mai juni juli august september oktober november dezember",
    "januari februari maart april mei juni juli augustus september oktober november december",
)


def _months() -> dict[str, int]:
    names: dict[str, int] = {}
    for language in MONTHS:
        for number, name in enumerate(language.split(), start=1):
            names[name] = names[name[:3]] = number
    # Shared by two months of one language, so they name neither.
    for short in ("jui",):
        names.pop(short)
    return names


MONTH_NUMBERS = _months()


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text says with the day first and with the month first; None is no date."""

    day_first: date | None
    month_first: date | None

    def by(self, order: str) -> date | None:
        return self.day_first if order == "day_first" else self.month_first

    @property
    def is_open(self) -> bool:
        return None not in (self.day_first, self.month_first) and self.differs

    @property
    def differs(self) -> bool:
        return self.day_first != self.month_first


@dataclass(frozen=True, slots=True)
class DateCell:
    """A filled cell of a column of dates."""

    row: int
    text: str
    kind: str


def read_date(text: str, kind: str = "") -> Reading:
    """Both readings of a text. A real date of a spreadsheet and ISO form have only one.

    Years of two digits lie in this century. A time of day behind the date is left out.
    """
    plain = clean(text)
    if kind == DATE or ISO.fullmatch(plain):
        return _sure(_iso(plain))
    short = SHORT.fullmatch(plain)
    if short:
        first, _, second, year = short.groups()
        return Reading(_date(year, second, first), _date(year, first, second))
    return _sure(_named(key(plain)))


def _sure(moment: date | None) -> Reading:
    return Reading(moment, moment)


def _iso(text: str) -> date | None:
    found = ISO.fullmatch(text)
    return _date(*found.groups()) if found else None


def _named(text: str) -> date | None:
    found = NAMED.fullmatch(text)
    if found:
        day, name, year = found.groups()
    elif found := NAMED_FIRST.fullmatch(text):
        name, day, year = found.groups()
    else:
        return None
    month = MONTH_NUMBERS.get(name)
    return _date(year, str(month), day) if month else None


def _date(year: str, month: str, day: str) -> date | None:
    full = int(year) + 2000 if len(year) == 2 else int(year)
    try:
        return date(full, int(month), int(day))
    except ValueError:
        return None


@dataclass(frozen=True, slots=True)
class Order:
    """The order of day and month of a column, the question for it, and what people are told."""

    order: str | None
    question: Question | None = None
    note: Note | None = None


def settle_order(column: str, cells: Sequence[DateCell], *, given: str | None) -> Order:
    """The one order that all dates of a column follow.

    `given` by an answer or the supplier's setting decides. Without it a row that can be read
    only one way decides for all and people are told; else a column with an open date is asked.
    """
    if given in ORDERS:
        return Order(given)
    read = [(cell, read_date(cell.text, cell.kind)) for cell in cells]
    differing = [(cell, reading) for cell, reading in read if reading.differs]
    if not differing:
        return Order("day_first")
    sure = {_only(reading): cell for cell, reading in reversed(differing) if _only(reading)}
    if len(sure) == 1:
        order, cell = next(iter(sure.items()))
        told = said(
            "Row {row} ({cell}) can only be read {orders}, so all of",
            row=cell.row,
            cell=cell.text,
            orders=ORDERS[order],
        )
        return Order(
            order,
            note=Note("date_order", said("{told} {column} is.", told=told, column=column)),
        )
    first = next((pair for pair in differing if pair[1].is_open), differing[0])
    return Order(None, _question(column, *first))


def _only(reading: Reading) -> str:
    if reading.month_first is None:
        return "day_first"
    return "month_first" if reading.day_first is None else ""


def _question(column: str, cell: DateCell, reading: Reading) -> Question:
    shown = tuple(
        Choice(
            order,
            said(
                "{name}: {cell} is {by}", name=name, cell=cell.text, by=spell(reading.by(order))
            ),
        )
        for order, name in ORDERS.items()
    )
    text = said("Do the dates of {column} begin with the day or with the month?", column=column)
    return Question("date_order", text, shown)


def spell(moment: date | None) -> str:
    """A date that nobody can misread: 3 April 2027."""
    if moment is None:
        return "no date"
    month = ENGLISH.split()[moment.month - 1].capitalize()
    return f"{moment.day} {month} {moment.year}"
