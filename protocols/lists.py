"""A supplier's packing list into lines and problems. Pure: a table in, what it means out."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from protocols.list_changes import Difference, differences
from protocols.list_checks import check_dates, check_totals, check_twice, one_waybill
from protocols.list_columns import (
    NEEDED,
    Header,
    absent_fields,
    doubled,
    find_header,
    missing,
    no_column,
)
from protocols.list_dates import ORDERS
from protocols.list_lines import Findings, read_dates, read_line
from protocols.list_numbers import SIGNS, settle_sign
from protocols.list_rows import row_notes, row_questions, sort_rows, too_wide
from protocols.list_species import Candidate, KnownSpecies, SpeciesMatch, match_species
from protocols.list_text import cleaned
from protocols.list_title import read_title
from protocols.list_values import (
    NUMBER,
    Choice,
    ListedLine,
    Note,
    Problem,
    Question,
    Row,
    Sheet,
    Table,
    Understood,
)
from protocols.list_words import FIELD_NAMES, IGNORE

__all__ = [
    "Candidate",
    "Choice",
    "Difference",
    "KnownSpecies",
    "ListedLine",
    "Note",
    "Problem",
    "Question",
    "Row",
    "Sheet",
    "SpeciesMatch",
    "Table",
    "Understood",
    "differences",
    "match_species",
    "understand",
]

NUMBERS = ("quantity", "per_bag", "bags", "price")
Found = tuple[Sheet, Header]


def understand(
    table: Table,
    *,
    today: date,
    answers: Mapping[str, Any] | None = None,
    settings: Mapping[str, Any] | None = None,
    ordered: date | None = None,
) -> Understood:
    """Lines, problems and open questions of a packing list. Nothing is guessed.

    `settings` are what is kept for the supplier: date_order (`day_first`, `month_first`),
    decimal (`,` or `.`) and mapping, from the heading of a column to what it holds or `ignore`.
    `answers` go before them, by the key of the question. `ordered` is the date of the order
    where the list does not say it. Every fault of every row is told at once; nothing raises.
    """
    told = {**(settings or {}), **(answers or {})}
    said = {name: value for name, value in told.items() if isinstance(value, str)}
    mapping = _mapping(settings or {}, answers or {})
    found = _headed(table, mapping)
    if not found:
        return Understood(problems=tuple(no_column(None, name) for name in NEEDED))
    sheet, header, sheets = _choose(found, said)
    form, kept = _form(table, sheet, header), _kept(said, mapping)
    body = sheet.rows[header.last + 1 :]
    problems, questions = missing(header, body)
    questions = sheets or questions + doubled(header, body)
    if questions:
        return Understood(problems=problems, questions=questions, form=form, settings=kept)
    read = _Reading(Findings(header), sheet.rows, said, today, ordered)
    return read.understood(form, kept, table.understood.get("separator"))


def _choose(
    found: Sequence[Found], said: Mapping[str, str]
) -> tuple[Sheet, Header, tuple[Question, ...]]:
    """The sheet that is named, or the only one with all needed columns; else it is asked."""
    named = [pair for pair in found if pair[0].name == said.get("sheet")]
    complete = [pair for pair in found if not absent_fields(pair[1].found)]
    sheet, header = (named or complete or found)[0]
    if len(complete) > 1 and not named:
        return sheet, header, (_which_sheet(complete),)
    return sheet, header, ()


def _mapping(settings: Mapping[str, Any], answers: Mapping[str, Any]) -> dict[str, str]:
    """What each heading holds. An answer about a field takes the field from any other."""
    mapping: dict[str, str] = {}
    for source in (settings, answers):
        given = source.get("mapping")
        for name, holds in given.items() if isinstance(given, Mapping) else ():
            if holds in (*FIELD_NAMES, IGNORE):
                mapping[str(name)] = holds
    for question, name in answers.items():
        asked = question.removeprefix("column_")
        holds = "trade_name" if asked == "species" else asked
        if asked != question and holds in FIELD_NAMES and isinstance(name, str):
            mapping = {other: held for other, held in mapping.items() if held != holds}
            mapping[name] = holds
    return mapping


def _headed(table: Table, mapping: Mapping[str, str]) -> list[Found]:
    """The sheets that have headings, with their texts cleaned."""
    sheets = [
        Sheet(sheet.name, tuple(cleaned(row) for row in sheet.rows)) for sheet in table.sheets
    ]
    found = ((sheet, find_header(sheet.rows, mapping)) for sheet in sheets)
    return [(sheet, header) for sheet, header in found if header]


def _which_sheet(found: Sequence[Found]) -> Question:
    shown = tuple(
        Choice(sheet.name, f"{sheet.name}: {len(sheet.rows)} rows") for sheet, _ in found
    )
    return Question("sheet", "Which sheet is the packing list?", shown)


def _form(table: Table, sheet: Sheet, header: Header) -> dict[str, Any]:
    """How the file was read, for the preview."""
    used = [column for column in header.columns if column.field]
    ignored = [column.name for column in header.columns if not column.field]
    return {
        **table.understood,
        "format": table.format,
        "sheet": sheet.name,
        "header_row": header.row,
        "columns": [{"column": column.name, "holds": column.field} for column in used],
        "ignored": ignored,
    }


def _kept(said: Mapping[str, str], mapping: Mapping[str, str]) -> dict[str, Any]:
    kept: dict[str, Any] = {"mapping": dict(mapping)}
    if said.get("date_order") in ORDERS:
        kept["date_order"] = said["date_order"]
    if said.get("decimal") in SIGNS:
        kept["decimal"] = said["decimal"]
    return kept


class _Reading:
    """One reading of the rows of one sheet."""

    def __init__(
        self,
        findings: Findings,
        rows: Sequence[Row],
        said: Mapping[str, str],
        today: date,
        ordered: date | None,
    ) -> None:
        header = findings.header
        self.findings = findings
        self.said = said
        self.today = today
        self.ordered = ordered
        self.title = read_title(rows[: header.first])
        self.piles = sort_rows(rows[header.last + 1 :], header, said)

    def understood(
        self, form: Mapping[str, Any], kept: Mapping[str, Any], separator: str | None
    ) -> Understood:
        findings = self.findings
        sign = self._sign(separator)
        arrives, title_arrival = self._dates("arrival")
        ordered, title_order = self._dates("ordered")
        lines = self._lines(sign, arrives, title_arrival)
        check_totals(self.piles, lines, findings)
        check_twice(lines, findings)
        self._check_dates(arrives, ordered, title_arrival, title_order)
        waybill = one_waybill((*self.title, *self.piles.lines), findings)
        self._tell_of_rows()
        return Understood(
            lines=lines,
            problems=tuple(sorted(findings.problems, key=lambda one: one.row or 0)),
            questions=tuple(findings.questions),
            notes=tuple(findings.notes),
            form={**form, "decimal": sign},
            settings=kept,
            waybill=waybill,
            arrives=title_arrival or min(arrives.values(), default=None),
        )

    def _tell_of_rows(self) -> None:
        self.findings.problems += too_wide(self.piles)
        self.findings.notes += row_notes(self.piles)
        for question in row_questions(self.piles, self.said):
            self.findings.ask(question)

    def _sign(self, separator: str | None) -> str | None:
        texts = [
            line.of(name)
            for line in self.piles.lines
            for name in NUMBERS
            if line.of(name) and line.kinds[name] != NUMBER
        ]
        settled = settle_sign(texts, separator=separator, given=self.said.get("decimal"))
        self.findings.ask(settled.question)
        self.findings.notes += [settled.note] if settled.note else []
        return settled.sign

    def _dates(self, name: str) -> tuple[Mapping[int, date], date | None]:
        given = self.said.get("date_order")
        told = [line for line in self.title if line.of(name)]
        above = read_dates(name, told, given, self.findings)
        column = read_dates(name, self.piles.lines, given, self.findings)
        return column, next(iter(above.values()), None)

    def _lines(
        self, sign: str | None, arrives: Mapping[int, date], title: date | None
    ) -> tuple[ListedLine, ...]:
        read = (
            read_line(line, sign, arrives.get(line.row, title), self.findings)
            for line in self.piles.lines
        )
        return tuple(line for line in read if line)

    def _check_dates(
        self,
        arrives: Mapping[int, date],
        ordered: Mapping[int, date],
        title_arrival: date | None,
        title_order: date | None,
    ) -> None:
        """A row without an order date of its own follows the list's, then the one handed in."""
        order = title_order or self.ordered
        orders = {line.row: order for line in self.piles.lines if order} | dict(ordered)
        check_dates(self.piles.lines, arrives, orders, self.today, self.findings)
        for line in self.title:
            own = {line.row: title_arrival} if title_arrival and line.of("arrival") else {}
            theirs = {line.row: order} if order else {}
            check_dates([line], own, theirs, self.today, self.findings)
