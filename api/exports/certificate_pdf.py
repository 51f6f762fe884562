"""A certificate on paper: one page of A4, or two. What does not fit is read at its address.

The words are the caller's. Paper tells what was true when it was printed: so the moment stands
at the top, and the code that leads to what is true today beside it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import IO, Any

from api.exports import ink

WIDTH, HEIGHT, MARGIN, FOOT = 210.0, 297.0, 15.0, 18.0
WIDE = WIDTH - 2 * MARGIN
CODE = 32.0
PAGES_MOST = 2
SIZE, STEP = 8.0, 3.9
GAP = 3.0


@dataclass(frozen=True, slots=True)
class Part:
    """A heading with lines of text, or with the rows of a table; a row may be of one cell."""

    heading: str
    lines: Sequence[str] = ()
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on it. `page` has a place for `{n}`; `left_out` says where the rest stands."""

    title: str
    state: str
    sentence: str
    lead: Sequence[str]
    address: str
    scanned: str  # in the code: the address in the form that takes the smallest symbol
    parts: Sequence[Part]
    foot: str
    page: str
    left_out: str


def write_certificate(sheet: Sheet, into: IO[bytes]) -> None:
    """Write the sheet; the same words give the same bytes."""
    canvas = ink.paper(into, sheet.title, WIDTH, HEIGHT)
    pen = _Pen(canvas, sheet)
    try:
        for part in sheet.parts:
            pen.part(part)
    except _Full:
        pen.last(sheet.left_out)
    canvas.showPage()
    canvas.save()


class _Full(Exception):
    """No page is left."""


class _Pen:
    """Where the next line goes; begins a page where one is full."""

    def __init__(self, canvas: Any, sheet: Sheet) -> None:
        self.canvas, self.sheet, self.page = canvas, sheet, 0
        self.y = HEIGHT - MARGIN
        self._begin()
        self._head()

    def part(self, part: Part) -> None:
        self._need(7 + 3 * STEP)  # a heading is never the last line of a page
        self.y -= 7
        self._write(part.heading, MARGIN, WIDE, size=10, font=ink.BOLD)
        self.y -= 0.6
        for text in part.lines:
            self._row([text], [WIDE])
        self._table(part.columns, part.rows)

    def last(self, text: str) -> None:
        """In the room that every page keeps free for it."""
        self.y = FOOT + 1
        self._write(text, MARGIN, WIDE, size=SIZE, font=ink.BOLD)

    def _head(self) -> None:
        sheet, top, room = self.sheet, self.y, WIDE - CODE - GAP
        ink.code(self.canvas, sheet.scanned, (WIDTH - MARGIN - CODE, top - CODE), CODE, "m")
        self.y -= 5
        self._write(sheet.state, MARGIN, room, size=12, font=ink.BOLD)
        for text in ink.wrapped(sheet.sentence, ink.BOLD, 14, room):
            self.y -= 6.4
            self._write(text, MARGIN, room, size=14, font=ink.BOLD)
        self.y -= 1.5
        for said in sheet.lead:
            for text in ink.wrapped(said, ink.PLAIN, SIZE, room):
                self.y -= STEP
                self._write(text, MARGIN, room)
        self.y = min(self.y, top - CODE)
        self.y -= STEP
        self._write(sheet.address, MARGIN, WIDE, size=SIZE, font=ink.BOLD)

    def _table(self, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        if not rows:
            return
        widths = _widths([columns, *rows] if columns else rows)
        if any(columns):
            self._row(columns, widths, font=ink.BOLD)
        for row in rows:
            self._row(row, widths)

    def _row(
        self, cells: Sequence[str], widths: Sequence[float], *, font: str = ink.PLAIN
    ) -> None:
        broken = [
            ink.wrapped(cell, font, SIZE, width - GAP)
            for cell, width in zip(cells, widths, strict=True)
        ]
        high = max((len(lines) for lines in broken), default=1)
        self._need(high * STEP + 0.8)
        x, top = MARGIN, self.y
        for lines, width in zip(broken, widths, strict=True):
            self.y = top
            for text in lines:
                self.y -= STEP
                self._write(text, x, width - GAP, font=font)
            x += width
        self.y = top - high * STEP - 0.4

    def _write(
        self, text: str, x: float, wide: float, *, size: float = SIZE, font: str = ink.PLAIN
    ) -> None:
        ink.line(self.canvas, text, (x, self.y), wide=wide, size=size, font=font)

    def _need(self, high: float) -> None:
        if self.y - high >= FOOT + STEP:
            return
        if self.page == PAGES_MOST:
            raise _Full
        self.canvas.showPage()
        self._begin()

    def _begin(self) -> None:
        self.page += 1
        page = f"{self.sheet.title} · {self.sheet.page.replace('{n}', str(self.page))}"
        ink.line(self.canvas, self.sheet.foot, (MARGIN, 11), wide=WIDE, size=7)
        ink.line(self.canvas, page, (MARGIN, 7.5), wide=WIDE, size=7)
        self.y = HEIGHT - MARGIN


def _widths(rows: Iterable[Sequence[str]]) -> list[float]:
    """As wide as the widest cell wants, drawn together where all of it is too much."""
    columns = zip(*rows, strict=True)
    wanted = [
        max(ink.width_of(cell, ink.BOLD, SIZE) for cell in cells) + GAP for cells in columns
    ]
    total = sum(wanted)
    if total <= WIDE:
        return wanted
    # What is short keeps its room; what is long shares the rest.
    fair = WIDE / len(wanted)
    short = sum(one for one in wanted if one <= fair)
    long = sum(one for one in wanted if one > fair)
    return [one if one <= fair else one * (WIDE - short) / long for one in wanted]
