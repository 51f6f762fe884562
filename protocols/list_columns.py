"""Finds the row of headings in a table and what each column holds."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from protocols.list_dates import read_date
from protocols.list_numbers import read_number
from protocols.list_text import letter
from protocols.list_values import DATE, NUMBER, Choice, Problem, Question, Row
from protocols.list_words import IGNORE, SPECIES, UNITS, field_of, key
from protocols.said import said

SEARCHED_ROWS = 100
NEEDED = ("species", "quantity")


@dataclass(frozen=True, slots=True)
class Column:
    """One column by its place and its heading, made unique in the file."""

    place: int
    name: str
    field: str | None

    @property
    def label(self) -> str:
        return f"{letter(self.place)}: {self.name}"


@dataclass(frozen=True, slots=True)
class Header:
    """The row or two rows of headings. `first` and `last` are positions among the rows."""

    first: int
    last: int
    row: int
    columns: tuple[Column, ...]
    width: int = 0

    @property
    def found(self) -> frozenset[str]:
        return frozenset(column.field for column in self.columns if column.field)

    def of(self, field: str) -> tuple[Column, ...]:
        return tuple(column for column in self.columns if column.field == field)


def find_header(rows: Sequence[Row], mapping: Mapping[str, str]) -> Header | None:
    """The row, or two rows read as one, that names the most fields; None without headings.

    `mapping` says for the heading of a column what it holds, before any word we know. Where no
    heading is known the first row of several texts is taken, so that people can map it.
    """
    found = [
        header
        for place in range(min(len(rows), SEARCHED_ROWS))
        for header in _headers_at(rows, place, mapping)
    ]
    best = max(found, key=lambda one: (len(one.found), one.first - one.last), default=None)
    return _without_units(best, rows) if best else None


def _headers_at(rows: Sequence[Row], place: int, mapping: Mapping[str, str]) -> list[Header]:
    row = rows[place]
    if sum(1 for cell in row.cells if cell) < 2 or _has_values(row):
        return []
    one = _header(rows, place, place, row.cells, mapping)
    below = rows[place + 1] if place + 1 < len(rows) else None
    if below is None or below.number != row.number + 1 or _has_values(below):
        return [one]
    two = _header(rows, place, place + 1, _joined(row, below), mapping)
    return [one, two] if len(two.found) > len(one.found) else [one]


def _has_values(row: Row) -> bool:
    kinds = (row.kind(place) for place in range(len(row.cells)))
    if any(kind in (NUMBER, DATE) for kind in kinds):
        return True
    return any(_is_value(cell) for cell in row.cells)


def _is_value(cell: str) -> bool:
    """A number, a date, or a label with its value as titles have them."""
    _, colon, value = cell.partition(":")
    is_number = read_number(cell) != read_number("")
    return is_number or bool(colon and value) or read_date(cell) != read_date("")


def _joined(upper: Row, lower: Row) -> tuple[str, ...]:
    width = max(len(upper.cells), len(lower.cells))
    above, under = (row.cells + ("",) * (width - len(row.cells)) for row in (upper, lower))
    return tuple(_one_heading(*pair) for pair in zip(above, under, strict=True))


def _one_heading(upper: str, lower: str) -> str:
    """The lower part alone where only it is known, as below a title that spans columns."""
    both = f"{upper} {lower}".strip()
    if field_of(both) or not (upper and lower):
        return both
    return lower if field_of(lower) else both


def _header(
    rows: Sequence[Row], first: int, last: int, names: Sequence[str], mapping: Mapping[str, str]
) -> Header:
    named = _unique_names(names)
    mapped = {name: mapping[name] for _, name in named if name in mapping}
    columns = []
    for place, name in named:
        field = mapped.get(name) or field_of(names[place])
        taken = name not in mapped and field in mapped.values()
        columns.append(Column(place, name, None if taken or field == IGNORE else field))
    width = max(rows[place].width for place in (first, last))
    return Header(first, last, rows[last].number, tuple(columns), width)


def _unique_names(names: Sequence[str]) -> list[tuple[int, str]]:
    seen: Counter[str] = Counter()
    unique = []
    for place, name in enumerate(names):
        if name:
            seen[name] += 1
            unique.append((place, name if seen[name] == 1 else f"{name} ({seen[name]})"))
    return unique


def _without_units(header: Header, rows: Sequence[Row]) -> Header:
    """A row below the headings that has nothing but units belongs to them."""
    below = rows[header.last + 1].cells if header.last + 1 < len(rows) else ()
    words = [word for cell in below for word in key(cell).split()]
    if words and all(word in UNITS for word in words):
        return replace(header, last=header.last + 1)
    return header


def doubled(header: Header, rows: Sequence[Row]) -> tuple[Question, ...]:
    """A question for each field that more than one column seems to hold."""
    return tuple(
        _which(field, header.of(field), rows)
        for field in sorted(header.found)
        if len(header.of(field)) > 1
    )


def missing(
    header: Header, rows: Sequence[Row]
) -> tuple[tuple[Problem, ...], tuple[Question, ...]]:
    """The needed columns that no heading names, and who could be meant by each."""
    absent = absent_fields(header.found)
    problems = tuple(no_column(header.row, field) for field in absent)
    questions = tuple(_which(field, header.columns, rows) for field in absent)
    return problems, questions


def absent_fields(found: Iterable[str]) -> list[str]:
    """Needed: the species by trade or scientific name, and the number of animals."""
    have = set(found)
    absent = [] if have.intersection(SPECIES) else ["species"]
    if not have.intersection(("quantity", "per_bag")):
        absent.append("quantity")
    return absent


def no_column(row: int | None, field: str) -> Problem:
    detail = said("No column is named as the {field}: it is needed.", field=field)
    return Problem(row, None, "missing_column", detail, field)


def _which(field: str, columns: Sequence[Column], rows: Sequence[Row]) -> Question:
    shown = tuple(
        Choice(column.name, f"{column.label} ({_examples(column, rows)})") for column in columns
    )
    return Question(
        f"column_{field}",
        said("Which column holds the {field}?", field=field.replace("_", " ")),
        shown,
    )


def _examples(column: Column, rows: Sequence[Row]) -> str:
    filled = (row.cells[column.place] for row in rows if column.place < len(row.cells))
    return ", ".join([cell[:40] for cell in filled if cell][:3]) or "empty"
