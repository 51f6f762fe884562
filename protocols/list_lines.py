"""Reads the printed lines of a packing list into numbers, texts and dates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from protocols.list_columns import Header
from protocols.list_dates import ORDERS, DateCell, read_date, settle_order
from protocols.list_numbers import as_price, read_number
from protocols.list_rows import Printed
from protocols.list_text import BROKEN
from protocols.list_values import NUMBER, ListedLine, Note, Problem, Question
from protocols.list_words import CAPTIVE, WILD, key
from protocols.said import said as sentence

MOST_LISTED = 100_000
MOST_TEXT = 200
MOST_MARK = 60
ABOVE = {"arrival": "the arrival told above", "ordered": "the order date told above"}
MARKS = ("box", "bag", "code", "size", "origin", "waybill")


@dataclass(slots=True)
class Findings:
    """What is said of a list while it is read."""

    header: Header
    problems: list[Problem] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)

    def add(
        self, line: Printed, name: str, code: str, detail: str, *, blocks: bool = True
    ) -> None:
        """A problem of one cell, under the heading of its column."""
        columns = self.header.of(name)
        heading = columns[0].name if columns else None
        value = line.of(name)[:MOST_TEXT]
        self.problems.append(Problem(line.row, heading, code, detail, value, blocks))

    def ask(self, question: Question | None) -> None:
        if question and all(question.key != asked.key for asked in self.questions):
            self.questions.append(question)


@dataclass(frozen=True, slots=True)
class Cell:
    """What a number cell is worth; `pending` while the decimal sign is still asked."""

    number: Decimal | None
    pending: bool = False


def read_cell(text: str, kind: str, sign: str | None) -> Cell:
    """A real number of a spreadsheet has a point; a text follows the sign of the file."""
    number = read_number(text)
    if kind == NUMBER:
        return Cell(number.point)
    if sign:
        return Cell(number.by(sign))
    if number.comma == number.point:
        return Cell(number.comma)
    return Cell(None, pending=True)


def read_line(
    line: Printed, sign: str | None, arrives: date | None, findings: Findings
) -> ListedLine | None:
    """The line, or None where its species or number cannot be read. Every fault is told."""
    text = _species(line, findings)
    listed = _listed(line, sign, findings)
    price = _price(line, sign, findings)
    marks = {name: _mark(line, name, findings) for name in MARKS}
    if text is None or listed is None:
        return None
    return ListedLine(
        row=line.row,
        text=text,
        listed=listed,
        box=line.box,
        bag=marks["bag"],
        code=marks["code"],
        scientific_name=line.of("scientific_name") or None,
        size=marks["size"],
        price=price,
        origin=marks["origin"],
        wild=_wild(line, findings),
        arrives=arrives,
    )


def _species(line: Printed, findings: Findings) -> str | None:
    """The trade name as printed, or the scientific name where there is no other."""
    for name in ("trade_name", "scientific_name"):
        text = line.of(name)
        if len(text) > MOST_TEXT:
            findings.add(
                line,
                name,
                "too_long",
                sentence("More than {most_text} characters.", most_text=MOST_TEXT),
            )
            return None
        if BROKEN in text:
            findings.add(line, name, "unreadable", "Letters of this name are lost.")
            return None
    text = line.of("trade_name") or line.of("scientific_name")
    if text:
        return text
    name = "trade_name" if findings.header.of("trade_name") else "scientific_name"
    findings.add(line, name, "missing", "The species is missing.")
    return None


def _mark(line: Printed, name: str, findings: Findings) -> str | None:
    text = line.of(name)
    if len(text) > MOST_MARK:
        findings.add(
            line,
            name,
            "too_long",
            sentence("More than {most_mark} characters.", most_mark=MOST_MARK),
        )
        return None
    return text or None


def _listed(line: Printed, sign: str | None, findings: Findings) -> int | None:
    """The number of animals: as listed, or bags times animals in each."""
    total = _whole(line, "quantity", sign, findings)
    each = _whole(line, "per_bag", sign, findings)
    bags = _whole(line, "bags", sign, findings)
    if not line.of("quantity") and each is not None:
        if line.of("bags"):
            return _within(line, "per_bag", each * bags, findings) if bags else None
        return each
    if total is not None and each and bags and each * bags != total:
        detail = sentence(
            "{bags} bags of {each} are {each_2}, listed are {total}.",
            bags=bags,
            each=each,
            each_2=each * bags,
            total=total,
        )
        findings.add(line, "quantity", "sum_differs", detail, blocks=False)
    if not line.of("quantity") and not line.of("per_bag"):
        name = "quantity" if findings.header.of("quantity") else "per_bag"
        findings.add(line, name, "missing", "The quantity is missing.")
    return total


def _whole(line: Printed, name: str, sign: str | None, findings: Findings) -> int | None:
    text = line.of(name)
    cell = read_cell(text, line.kinds.get(name, ""), sign)
    if not text or cell.pending:
        return None
    if cell.number is None:
        findings.add(line, name, "unreadable", "This is no number.")
    elif cell.number != cell.number.to_integral_value():
        findings.add(line, name, "not_whole", "Animals are counted in whole numbers.")
    elif cell.number <= 0:
        findings.add(line, name, "not_positive", "The number must be at least 1.")
    else:
        return _within(line, name, int(cell.number), findings)
    return None


def _within(line: Printed, name: str, count: int, findings: Findings) -> int | None:
    if count <= MOST_LISTED:
        return count
    findings.add(
        line,
        name,
        "too_large",
        sentence("No line has more than {most_listed} animals.", most_listed=MOST_LISTED),
    )
    return None


def _price(line: Printed, sign: str | None, findings: Findings) -> str | None:
    text = line.of("price")
    cell = read_cell(text, line.kinds.get("price", ""), sign)
    if not text or cell.pending:
        return None
    if cell.number is None:
        findings.add(line, "price", "unreadable", "This is no price.")
    elif cell.number < 0:
        findings.add(line, "price", "not_positive", "A price is not below nothing.")
    else:
        return as_price(cell.number)
    return None


def _wild(line: Printed, findings: Findings) -> bool | None:
    word = key(line.of("wild"))
    if word and word not in WILD and word not in CAPTIVE:
        detail = "Neither wild nor captive bred: this is left open."
        findings.add(line, "wild", "unknown_word", detail, blocks=False)
    return word in WILD if word in WILD | CAPTIVE else None


def read_dates(
    name: str, lines: Sequence[Printed], given: str | None, findings: Findings
) -> Mapping[int, date]:
    """The dates of one column by row. Nothing is read while the order is asked."""
    filled = [line for line in lines if line.of(name)]
    cells = [DateCell(line.row, line.of(name), line.kinds.get(name, "")) for line in filled]
    columns = findings.header.of(name)
    heading = columns[0].name if columns else ABOVE[name]
    settled = settle_order(heading, cells, given=given)
    findings.ask(settled.question)
    findings.notes += [settled.note] if settled.note else []
    dates = {}
    for line, cell in zip(filled, cells, strict=True):
        reading = read_date(cell.text, cell.kind)
        moment = reading.by(settled.order or "day_first")
        if moment is None and (settled.order or not reading.differs):
            said = f" {ORDERS[settled.order]}" if settled.order and reading.differs else ""
            findings.add(
                line, name, "unreadable", sentence("This is no date{said}.", said=said)
            )
        elif moment is not None and (settled.order or not reading.differs):
            dates[line.row] = moment
    return dates
