"""The frozen values that packing lists are read into."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

TEXT, NUMBER, DATE, MERGED = "t", "n", "d", "m"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table that is not empty. `number` counts from 1, as a spreadsheet does.

    `kinds` has a letter for every cell: text, a real number, a real date, or a cell that a
    merged cell above covers, which then has that cell's text. `width` counts the fields of the
    row with the empty ones at its end, which `cells` leaves out; 0 where nobody knows.
    """

    number: int
    cells: tuple[str, ...]
    kinds: str = ""
    width: int = 0

    def kind(self, column: int) -> str:
        return self.kinds[column] if column < len(self.kinds) else TEXT


@dataclass(frozen=True, slots=True)
class Sheet:
    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """What an uploaded file holds, and what was understood of its form."""

    format: str
    sheets: tuple[Sheet, ...]
    understood: Mapping[str, Any] = field(default_factory=dict)

    @property
    def rows(self) -> tuple[Row, ...]:
        """Rows of the first sheet that has any."""
        return next((sheet.rows for sheet in self.sheets if sheet.rows), ())


@dataclass(frozen=True, slots=True)
class Problem:
    """Something to say about one place of the list. One that blocks must be put right first."""

    row: int | None
    column: str | None
    code: str
    detail: str
    value: str = ""
    blocks: bool = True


@dataclass(frozen=True, slots=True)
class Choice:
    value: str
    shows: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something the file leaves open. It is asked once for the file, never guessed."""

    key: str
    text: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Note:
    """Something that was settled without asking and that people are told."""

    code: str
    detail: str


@dataclass(frozen=True, slots=True)
class ListedLine:
    """One line of a packing list. `text` is the species as printed, `price` decimal text."""

    row: int
    text: str
    listed: int
    box: str | None = None
    bag: str | None = None
    code: str | None = None
    scientific_name: str | None = None
    size: str | None = None
    price: str | None = None
    origin: str | None = None
    wild: bool | None = None
    arrives: date | None = None


@dataclass(frozen=True, slots=True)
class Understood:
    """A packing list as it was read: what is in it, what is wrong, what must be asked.

    `form` says how the file was read, for people; `settings` is what to keep for the supplier,
    so that the next list of the same make asks nothing.
    """

    lines: tuple[ListedLine, ...] = ()
    problems: tuple[Problem, ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[Note, ...] = ()
    form: Mapping[str, Any] = field(default_factory=dict)
    settings: Mapping[str, Any] = field(default_factory=dict)
    waybill: str | None = None
    arrives: date | None = None

    @property
    def listed(self) -> int:
        """Number of animals on the list."""
        return sum(line.listed for line in self.lines)

    @property
    def may_be_applied(self) -> bool:
        """Whether nothing is open: there are lines, no question, no problem that blocks."""
        blocked = any(problem.blocks for problem in self.problems)
        return bool(self.lines) and not self.questions and not blocked
