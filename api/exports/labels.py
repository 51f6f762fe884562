"""Labels as PDF: sheets of A4 to peel from, and rolls 57 and 62 mm wide.

What is scanned stands beside the code in letters, with its check character: a wet label that no
camera reads can still be typed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any

from api.exports import ink
from protocols.hazards import Hazard

EDGE = 3.0  # what printers leave white at the edge of a label
QR = 24.0  # with its quiet zone; 0.8 mm for a module, read at arm's length when wet
BAND, MARK = 5.5, 5.6
TITLE, TITLE_LEAST = 17.0, 13.6


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label. `scanned` goes into the code, `code` beside it."""

    title: str
    code: str
    scanned: str
    lines: tuple[str, ...] = ()
    large: str = ""  # the next limit
    band: str = ""  # white on black at the foot: not for sale
    marks: tuple[tuple[Hazard, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Format:
    """How labels lie on paper, in millimetres; on a roll each is a page of its own."""

    page: tuple[float, float]
    label: tuple[float, float]
    across: int = 1
    down: int = 1
    margin: tuple[float, float] = (0, 0)  # left, top
    gap: float = 0  # between columns

    @property
    def places(self) -> int:
        return self.across * self.down

    def corner(self, place: int) -> tuple[float, float]:
        """The lower left corner of a place, counted along the rows from 0."""
        row, column = divmod(place, self.across)
        (left, top), (width, height) = self.margin, self.label
        return left + column * (width + self.gap), self.page[1] - top - (row + 1) * height


A4 = (210.0, 297.0)
FORMATS = {
    "a4-24": Format(A4, (70.0, 37.0), 3, 8, (0.0, 0.5)),
    "a4-14": Format(A4, (99.1, 38.1), 2, 7, (4.65, 15.15), 2.5),
    "roll-57": Format((57.0, 40.0), (57.0, 40.0)),
    "roll-62": Format((62.0, 40.0), (62.0, 40.0)),
}


def write_labels(
    labels: Sequence[Label], form: Format, into: IO[bytes], *, title: str, skip: int = 0
) -> None:
    """Write the labels, leaving the first `skip` places of a sheet that was begun.

    Without labels it is one page that says nothing.
    """
    canvas = ink.paper(into, title, *form.page)
    place = skip if form.places > 1 else 0
    for number, label in enumerate(labels, place):
        if number > place and number % form.places == 0:
            canvas.showPage()
        _draw(canvas, label, form.corner(number % form.places), form.label)
    canvas.showPage()
    canvas.save()


def _draw(
    canvas: Any, label: Label, at: tuple[float, float], size: tuple[float, float]
) -> None:
    (left, foot), (width, height) = at, size
    side, top = left + EDGE, foot + height - EDGE + 0.5
    base = foot + EDGE - 0.5
    if label.band:
        _band(canvas, label.band, (side, base), width - 2 * EDGE)
        base += BAND + 0.7
    if label.scanned:
        code_foot = top - QR + 1.5  # its quiet zone may reach into the edge
        ink.code(canvas, label.scanned, (side - 2, code_foot), QR, _error(label))
        where = (side, max(code_foot - 1.2, base + 0.3))
        ink.line(canvas, label.code, where, wide=QR - 3, size=9, font=ink.BOLD)
        side += QR - 2
    wide = left + width - EDGE - side
    floor = base + _mark_rows(label.marks) * MARK
    _words(canvas, label, (side, top), wide, floor)
    _marks(canvas, label.marks, (side, base), wide)


def _error(label: Label) -> str:
    """Our own codes take the smallest symbol with the most correction; addresses are longer."""
    return "h" if len(label.scanned) <= 10 else "m"  # version 1-H holds 10


def _band(canvas: Any, text: str, at: tuple[float, float], wide: float) -> None:
    canvas.setFillGray(0)
    x, y = (ink.millimetres(one) for one in at)
    canvas.rect(x, y, ink.millimetres(wide), ink.millimetres(BAND), 0, 1)
    canvas.setFillGray(1)
    ink.line(canvas, text, (at[0] + 1.5, at[1] + 1.5), wide=wide - 3, size=11, font=ink.BOLD)
    canvas.setFillGray(0)


def _words(
    canvas: Any, label: Label, at: tuple[float, float], wide: float, floor: float
) -> None:
    """The title as it is painted on the thing, what else is said, the limit in bold.

    What would come below `floor` is left out: the limit comes before the small print.
    """
    x, y = at
    for row in _rows(label, wide):
        y -= row.step
        if y < floor:
            return
        ink.line(canvas, row.text, (x, y), wide=wide, size=row.size, font=row.font)


@dataclass(frozen=True, slots=True)
class Row:
    text: str
    size: float
    font: str
    step: float


def _rows(label: Label, wide: float) -> Iterator[Row]:
    if ink.width_of(label.title, ink.BOLD, TITLE_LEAST) <= wide:
        yield Row(label.title, TITLE, ink.BOLD, 6.0)
    else:
        yield from _wrapped(label.title, 9, ink.BOLD, 4.0, wide)
    yield from _wrapped(label.large, 9.5, ink.BOLD, 4.4, wide)
    for text in label.lines:
        yield from _wrapped(text, 7.5, ink.PLAIN, 3.4, wide)


def _wrapped(text: str, size: float, font: str, step: float, wide: float) -> Iterator[Row]:
    """A text in at most two rows; that it was cut is to be seen."""
    lines = ink.wrapped(text, font, size, wide)
    for row in [*lines[:1], " ".join(lines[1:])] if len(lines) > 2 else lines:
        yield Row(row, size, font, step)


def _marks(
    canvas: Any, marks: Sequence[tuple[Hazard, str]], at: tuple[float, float], wide: float
) -> None:
    """Each mark with its word, two in a row, the worst first and nearest to the top."""
    for place, (hazard, word) in enumerate(marks):
        row, column = divmod(place, 2)
        left = at[0] + column * wide / 2
        foot = at[1] + (_mark_rows(marks) - row - 1) * MARK
        ink.sign(canvas, hazard, (left, foot), 5)
        room = wide / 2 if len(marks) > 1 else wide
        ink.line(canvas, word, (left + 5.8, foot + 1.3), wide=room - 6, size=8, font=ink.BOLD)


def _mark_rows(marks: Sequence[object]) -> int:
    return -(-len(marks) // 2)
