"""The one shape of every report: named columns, rows of plain values, as known by an entry."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from uuid import UUID
from zoneinfo import ZoneInfo

# A moment is UTC, a span is elapsed time. Nothing is written for None.
Cell = str | int | Decimal | datetime | timedelta | UUID | None
Row = tuple[Cell, ...]


class Sort(StrEnum):
    """How the cells of a column are written: as typed, as a code of ours, and so on."""

    TEXT = "text"
    CODE = "code"
    NUMBER = "number"
    MOMENT = "moment"
    SPAN = "span"


@dataclass(frozen=True, slots=True)
class Column:
    """`name` is permanent: programs read files by it."""

    name: str
    sort: Sort = Sort.TEXT


def text(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name) for name in names)


def code(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, Sort.CODE) for name in names)


def number(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, Sort.NUMBER) for name in names)


def moment(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, Sort.MOMENT) for name in names)


def span(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, Sort.SPAN) for name in names)


@dataclass(frozen=True, slots=True)
class Asked:
    """Of which site, from when (included) to when (not), and as known by which entry.

    `at` is the moment at which batches are judged. `batches` narrows what is told to these
    and to the places and equipment they were in; empty means the whole site.
    """

    site: UUID
    zone: ZoneInfo
    begins: datetime
    ends: datetime
    known_by: int
    at: datetime
    batches: frozenset[UUID] = frozenset()

    def holds(self, moment: datetime) -> bool:
        return self.begins <= moment < self.ends

    def speaks_of(self, *batches: UUID) -> bool:
        """Whether it asks about one of these batches."""
        return not self.batches or not self.batches.isdisjoint(batches)


@dataclass(frozen=True, slots=True)
class Report:
    """One of the reports that an inspector asks for; its rows are read as they are written."""

    name: str
    columns: tuple[Column, ...]
    rows: Callable[[Asked], Iterator[Row]]
