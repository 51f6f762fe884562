"""Sheets for a power cut as PDF: numbered lines with boxes to write in, large enough for a pen.

Black on white and A4, so that any printer and a head torch will do.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import IO, Any

from api.exports import ink

WIDTH, HEIGHT, MARGIN = 210.0, 297.0, 10.0
WIDE = WIDTH - 2 * MARGIN
ROW = 11.0
PRINTED = 58.0  # how much of a row is printed before the boxes begin
TICK = 4.0
FOOT = 14.0
HEAD = 26.0


@dataclass(frozen=True, slots=True)
class Line:
    """A numbered line: what is printed in two rows, then boxes to write in, by their captions.

    `ticks` are labels under it, each with a box for every word of `ticked`.
    """

    n: int
    bold: str
    small: str
    boxes: Sequence[tuple[str, float]]  # caption, share of the room for boxes
    ticks: Sequence[str] = ()
    ticked: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Part:
    heading: str
    lines: Sequence[Line]


@dataclass(frozen=True, slots=True)
class SheetText:
    """The words around the lines. `page` has places for `{n}`."""

    title: str
    code: str
    scanned: str
    lead: str
    page: str
    cautions: str


def write_sheet(text: SheetText, parts: Iterable[Part], into: IO[bytes]) -> None:
    """Write the sheet; a heading never stands alone at the foot of a page."""
    canvas = ink.paper(into, text.title, WIDTH, HEIGHT)
    pen = _Pen(canvas, text)
    for part in parts:
        if not part.lines:
            continue
        pen.room_for(8 + _height(part.lines[0]))
        pen.heading(part.heading)
        for line in part.lines:
            pen.room_for(_height(line))
            pen.line(line)
    canvas.showPage()
    canvas.save()


TICK_WIDE = 31.0
TICKS_ACROSS = int(WIDE // TICK_WIDE)


def _height(line: Line) -> float:
    return ROW + 6.5 * -(-len(line.ticks) // TICKS_ACROSS)


class _Pen:
    """Where the next line goes; begins a page where the last one is full."""

    def __init__(self, canvas: Any, text: SheetText) -> None:
        self.canvas, self.text, self.page = canvas, text, 0
        self.y = 0.0
        self._begin()

    def room_for(self, height: float) -> None:
        if self.y - height < FOOT:
            self.canvas.showPage()
            self._begin()

    def heading(self, words: str) -> None:
        self.y -= 7
        ink.line(self.canvas, words, (MARGIN, self.y), wide=WIDE, size=11, font=ink.BOLD)
        self.y -= 1.5

    def line(self, line: Line) -> None:
        top, foot = self.y, self.y - ROW
        self._box(MARGIN, foot, WIDE, ROW)
        ink.line(
            self.canvas, str(line.n), (MARGIN + 1.5, foot + 3.6), wide=8, size=12, font=ink.BOLD
        )
        self._box(MARGIN + 10, foot + (ROW - TICK) / 2, TICK, TICK)
        left = MARGIN + 10 + TICK + 2
        room = MARGIN + PRINTED - left - 1
        ink.line(self.canvas, line.bold, (left, top - 4.6), wide=room, size=9.5, font=ink.BOLD)
        for place, words in enumerate(ink.wrapped(line.small, ink.PLAIN, 6.5, room)[:2]):
            ink.line(self.canvas, words, (left, top - 7.4 - 2.7 * place), wide=room, size=6.5)
        self._boxes(line.boxes, foot)
        self.y = foot
        self._ticks(line)

    def _boxes(self, boxes: Sequence[tuple[str, float]], foot: float) -> None:
        each = (WIDE - PRINTED) / (sum(share for _, share in boxes) or 1)
        x = MARGIN + PRINTED
        for caption, share in boxes:
            self._box(x, foot, each * share, ROW)
            where = (x + 0.8, foot + ROW - 2.4)
            ink.line(self.canvas, caption, where, wide=each * share - 1.2, size=5.5, least=4)
            x += each * share

    def _ticks(self, line: Line) -> None:
        """Labels with their boxes, as many in a row as there is room for."""
        for place, label in enumerate(line.ticks):
            row, column = divmod(place, TICKS_ACROSS)
            x, y = MARGIN + column * TICK_WIDE, self.y - 5.2 - 6.5 * row
            ink.line(self.canvas, label, (x + 1, y + 0.6), wide=12, size=7.5, font=ink.BOLD)
            for n, word in enumerate(line.ticked):
                at = x + 13.5 + n * 8.5
                self._box(at, y, 3, 3)
                ink.line(self.canvas, word, (at + 3.4, y + 0.6), wide=5, size=5, least=4)
        self.y -= _height(line) - ROW

    def _box(self, x: float, y: float, width: float, height: float) -> None:
        self.canvas.setLineWidth(0.6)
        sizes = (ink.millimetres(one) for one in (x, y, width, height))
        self.canvas.rect(*sizes, 1, 0)

    def _begin(self) -> None:
        """The head of a page: which sheet it is, to scan and to read, and what to mind."""
        self.page += 1
        canvas, text = self.canvas, self.text
        top = HEIGHT - MARGIN
        ink.code(canvas, text.scanned, (WIDTH - MARGIN - 22, top - 21), 22, "h")
        wide = WIDE - 26
        ink.line(canvas, text.title, (MARGIN, top - 6), wide=wide, size=14, font=ink.BOLD)
        ink.line(canvas, text.code, (MARGIN, top - 12), wide=wide, size=13, font=ink.BOLD)
        page = text.page.replace("{n}", str(self.page))
        ink.line(canvas, page, (MARGIN + 40, top - 12), wide=wide - 40, size=9)
        for place, words in enumerate(ink.wrapped(text.lead, ink.PLAIN, 7.5, wide)[:2]):
            ink.line(canvas, words, (MARGIN, top - 16.5 - 3.2 * place), wide=wide, size=7.5)
        ink.line(canvas, text.cautions, (MARGIN, 8), wide=WIDE, size=7.5, font=ink.BOLD)
        self.y = HEIGHT - MARGIN - HEAD + 2
