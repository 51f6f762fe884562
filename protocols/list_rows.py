"""Tells the rows below the headings apart: lines, box headings, totals and the rest."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from protocols.list_columns import Header
from protocols.list_values import MERGED, Choice, Note, Problem, Question, Row
from protocols.list_words import BOX_HEADING, NOT_ANIMALS, TOTALS, field_of, key
from protocols.said import said

# A merged cell stands for every row it covers only where one thing holds several lines;
# a number of animals or a species would be counted again in each row.
SPANNING = frozenset({"box", "bag", "waybill", "arrival", "ordered"})
ALONE_IN_BOX = re.compile(r"[A-Za-z]{0,4}[-. ]?\d[\w/-]{0,11}|[A-Za-z]")
LEAST_COLUMNS_FOR_TITLES = 3


@dataclass(frozen=True, slots=True)
class Printed:
    """One line as printed: its cells by field. `box` is settled, also from a heading above."""

    row: int
    values: Mapping[str, str]
    kinds: Mapping[str, str]
    box: str | None = None
    too_wide: bool = False

    def of(self, name: str) -> str:
        return self.values.get(name, "")


@dataclass(frozen=True, slots=True)
class Total:
    """A row that sums others up; `text` is its number of animals as printed, if it has one."""

    row: int
    text: str


@dataclass(slots=True)
class SortedRows:
    lines: list[Printed] = field(default_factory=list)
    totals: list[Total] = field(default_factory=list)
    breaks: list[int] = field(default_factory=list)
    skipped: list[int] = field(default_factory=list)
    lone: list[Printed] = field(default_factory=list)
    boxless: list[tuple[int, str]] = field(default_factory=list)


def sort_rows(rows: Sequence[Row], header: Header, answers: Mapping[str, str]) -> SortedRows:
    """Every row in exactly one pile. Box headings give their box to the lines below them."""
    piles = SortedRows()
    heading: str | None = None
    above: str | None = None
    for row in rows:
        printed = _printed(row, header)
        box = _box_heading(row, header)
        if box:
            heading, above = box, None
            piles.breaks.append(row.number)
        elif not _is_line(row, header, printed, piles):
            continue
        elif printed.of("box"):
            heading, above = None, printed.of("box")
            piles.lines.append(replace(printed, box=above))
        else:
            piles.lines.append(_with_box(printed, heading, above, answers, piles))
    _take_titles_out(piles, header, answers)
    return piles


def _printed(row: Row, header: Header) -> Printed:
    values = {}
    kinds = {}
    for column in header.columns:
        if column.field and column.place < len(row.cells) and row.cells[column.place]:
            kind = row.kind(column.place)
            if kind != MERGED or column.field in SPANNING:
                values[column.field] = row.cells[column.place]
                kinds[column.field] = kind
    wide = bool(header.width) and row.width > header.width
    return Printed(row.number, values, kinds, too_wide=wide)


def _filled(row: Row) -> list[tuple[int, str]]:
    return [
        (place, cell)
        for place, cell in enumerate(row.cells)
        if cell and row.kind(place) != MERGED
    ]


def _box_heading(row: Row, header: Header) -> str | None:
    """The box of a row that has nothing else: «Box 3», or 3 alone in the column of boxes."""
    filled = _filled(row)
    if not 1 <= len(filled) <= 2:
        return None
    said = BOX_HEADING.fullmatch(" ".join(cell for _, cell in filled))
    if said:
        return said["box"]
    boxes = [column.place for column in header.of("box")]
    place, cell = filled[0]
    alone = len(filled) == 1 and place in boxes and ALONE_IN_BOX.fullmatch(cell)
    return cell if alone else None


def _is_line(row: Row, header: Header, printed: Printed, piles: SortedRows) -> bool:
    """Whether the row is a line; every other row is put on its pile."""
    if _repeats(row, header):
        return False
    total = _total(row, printed)
    if total:
        piles.totals.append(total)
        return False
    if not set(printed.values) - {"box", "waybill", "arrival", "ordered", "origin"}:
        piles.skipped.append(row.number)
        return False
    return True


def _repeats(row: Row, header: Header) -> bool:
    """The headings again, as at the top of a new page."""
    named = [column for column in header.columns if column.field]
    same = [
        column
        for column in named
        if column.place < len(row.cells) and field_of(row.cells[column.place]) == column.field
    ]
    return len(same) >= 2 and len(same) >= len(named) - 1


def _total(row: Row, printed: Printed) -> Total | None:
    for _, cell in _filled(row)[:2]:
        found = TOTALS.fullmatch(key(cell))
        if found and NOT_ANIMALS.intersection(found["rest"].split()):
            return Total(row.number, "")
        if found:
            in_text = re.search(r"\d[\d.,' ]*", cell)
            return Total(row.number, printed.of("quantity") or (in_text[0] if in_text else ""))
    return None


def _with_box(
    printed: Printed,
    heading: str | None,
    above: str | None,
    answers: Mapping[str, str],
    piles: SortedRows,
) -> Printed:
    if heading or not above:
        return replace(printed, box=heading)
    piles.boxless.append((printed.row, above))
    return replace(printed, box=above if answers.get("box_blank") == "same" else None)


def _take_titles_out(piles: SortedRows, header: Header, answers: Mapping[str, str]) -> None:
    """A lone species text is a title of a group or a line without its number: people say."""
    if len(header.found) < LEAST_COLUMNS_FOR_TITLES:
        return
    alone = ({"trade_name"}, {"scientific_name"})
    piles.lone = [line for line in piles.lines if set(line.values) in alone]
    if answers.get("lone_texts") == "titles":
        piles.lines = [line for line in piles.lines if set(line.values) not in alone]
        piles.skipped += [line.row for line in piles.lone]


def row_questions(piles: SortedRows, answers: Mapping[str, str]) -> tuple[Question, ...]:
    """What only people can say of the rows: whose box, title or line."""
    asked = []
    if piles.boxless and answers.get("box_blank") not in ("same", "none"):
        row, box = piles.boxless[0]
        choices = (
            Choice(
                "same", said("Row {row} is in box {box}, as the row above it", row=row, box=box)
            ),
            Choice("none", said("Row {row} has no box", row=row)),
        )
        asked.append(
            Question("box_blank", "Which box do rows without a box belong to?", choices)
        )
    if piles.lone and answers.get("lone_texts") not in ("titles", "lines"):
        first = piles.lone[0]
        text = next(iter(first.values.values()))
        choices = (
            Choice(
                "titles",
                said("«{text}» (row {row}) is the title of a group", text=text, row=first.row),
            ),
            Choice(
                "lines",
                said(
                    "«{text}» (row {row}) is a line without its quantity",
                    text=text,
                    row=first.row,
                ),
            ),
        )
        asked.append(Question("lone_texts", "What are rows with nothing but a name?", choices))
    return tuple(asked)


def row_notes(piles: SortedRows) -> tuple[Note, ...]:
    if not piles.skipped:
        return ()
    rows = ", ".join(str(row) for row in sorted(piles.skipped)[:20])
    return (
        Note("left_out", said("Rows that name no animals are left out: {rows}.", rows=rows)),
    )


def too_wide(piles: SortedRows) -> tuple[Problem, ...]:
    """A row with more fields than headings: a separator inside a text shifted its cells."""
    detail = "This row has more fields than there are headings: is a separator inside a text?"
    return tuple(
        Problem(line.row, None, "unreadable", detail) for line in piles.lines if line.too_wide
    )
