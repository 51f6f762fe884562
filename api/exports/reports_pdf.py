"""A report on paper, to be read and signed: A4 across, as many pages as it needs.

The words are the caller's. Columns get the room that their texts need; long texts are broken
into lines. The foot of each page says which page it is and of what.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import IO, Any

from api.exports import ink

WIDTH, HEIGHT, MARGIN, FOOT = 297.0, 210.0, 10.0, 16.0
WIDE = WIDTH - 2 * MARGIN
SIZE, STEP, GAP = 6.5, 2.9, 1.6
LEAST, MOST = 7.0, 60.0
SIGNED_HIGH = 34.0


@dataclass(frozen=True, slots=True)
class Printed:
    """The words around the table. `page` has places for `{n}`."""

    title: str
    lead: Sequence[str]  # a line each: site, span, as known by which entry
    page: str
    empty: str
    statement: str  # what a signature says
    signatures: Sequence[str]  # captions of the lines to sign on


def write_printed(
    text: Printed, columns: Sequence[str], rows: Sequence[Sequence[str]], into: IO[bytes]
) -> None:
    """Write the report; the same rows give the same bytes."""
    canvas = ink.paper(into, text.title, WIDTH, HEIGHT)
    pen = _Pen(canvas, text, columns, _widths(columns, rows))
    for row in rows:
        pen.row(row)
    if not rows:
        pen.words(text.empty)
    pen.sign()
    canvas.showPage()
    canvas.save()


def _widths(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> list[float]:
    """As wide as the widest text wants, within bounds, drawn together where it is too much."""
    wanted = []
    for place, head in enumerate(columns):
        longest_word = max((ink.width_of(w, ink.BOLD, SIZE) for w in head.split()), default=0)
        widest = max((ink.width_of(row[place], ink.PLAIN, SIZE) for row in rows), default=0)
        wanted.append(min(max(LEAST, longest_word, widest), MOST) + GAP)
    total = sum(wanted) or 1
    return [one * WIDE / total for one in wanted] if total > WIDE else wanted


class _Pen:
    """Where the next row goes; begins a page where the last one is full."""

    def __init__(
        self, canvas: Any, text: Printed, columns: Sequence[str], widths: Sequence[float]
    ) -> None:
        self.canvas, self.text, self.page = canvas, text, 0
        self.columns, self.widths, self.y = columns, widths, 0.0
        self._begin()

    def row(self, cells: Sequence[str]) -> None:
        lines = self._lines(cells, ink.PLAIN)
        high = _high(lines)
        if self.y - high < FOOT:
            self.canvas.showPage()
            self._begin()
        self._draw(lines, ink.PLAIN)
        self._rule(0.2)

    def words(self, said: str) -> None:
        self.y -= STEP + 2
        ink.line(self.canvas, said, (MARGIN, self.y), wide=WIDE, size=9)

    def sign(self) -> None:
        """The lines to sign on; never alone on a page without the words about them."""
        if self.y - SIGNED_HIGH < FOOT:
            self.canvas.showPage()
            self._begin(table=False)
        self.y -= 8
        for said in ink.wrapped(self.text.statement, ink.PLAIN, 8, WIDE):
            ink.line(self.canvas, said, (MARGIN, self.y), wide=WIDE, size=8)
            self.y -= 3.8
        each = WIDE / max(len(self.text.signatures), 1)
        y = self.y - 14
        for place, caption in enumerate(self.text.signatures):
            x = MARGIN + place * each
            self._line(x, y, x + each - 6, 0.6)
            ink.line(self.canvas, caption, (x, y - 4), wide=each - 6, size=7)

    def _lines(self, cells: Sequence[str], font: str) -> list[list[str]]:
        return [
            _broken(cell, font, width - GAP)
            for cell, width in zip(cells, self.widths, strict=True)
        ]

    def _draw(self, lines: Sequence[Sequence[str]], font: str) -> None:
        x = MARGIN
        for those, width in zip(lines, self.widths, strict=True):
            for place, said in enumerate(those):
                at = (x, self.y - STEP * (place + 1) + 0.5)
                ink.line(self.canvas, said, at, wide=width, size=SIZE, font=font)
            x += width
        self.y -= _high(lines)

    def _begin(self, *, table: bool = True) -> None:
        self.page += 1
        canvas, text = self.canvas, self.text
        y = HEIGHT - MARGIN - 5
        ink.line(canvas, text.title, (MARGIN, y), wide=WIDE, size=14, font=ink.BOLD)
        for said in text.lead:
            y -= 4
            ink.line(canvas, said, (MARGIN, y), wide=WIDE, size=8)
        page = text.page.replace("{n}", str(self.page))
        ink.line(canvas, page, (MARGIN, 8), wide=WIDE, size=7)
        self.y = y - 3
        if table:
            self._draw(self._lines(self.columns, ink.BOLD), ink.BOLD)
            self._rule(0.8)

    def _rule(self, thick: float) -> None:
        self.y -= 0.6
        self._line(MARGIN, self.y, MARGIN + sum(self.widths), thick)
        self.y -= 0.4

    def _line(self, x: float, y: float, until: float, thick: float) -> None:
        self.canvas.setLineWidth(thick)
        ends = (x, y, until, y)
        self.canvas.line(*(ink.millimetres(one) for one in ends))


def _high(lines: Sequence[Sequence[str]]) -> float:
    return STEP * max((len(those) for those in lines), default=1) + 0.8


def _broken(text: str, font: str, wide: float) -> list[str]:
    """Lines no wider than `wide`; a word that is wider by itself is broken anywhere."""
    found: list[str] = []
    for said in ink.wrapped(text, font, SIZE, wide):
        while ink.width_of(said, font, SIZE) > wide and len(said) > 1:
            fits = len(said) - 1
            while fits > 1 and ink.width_of(said[:fits], font, SIZE) > wide:
                fits -= 1
            found.append(said[:fits])
            said = said[fits:]
        found.append(said)
    return found
