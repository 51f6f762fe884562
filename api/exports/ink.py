"""Drawing on paper: text that fits, codes and signs as vectors. Millimetres throughout.

The PDF library is loaded when something is drawn: it would only slow the start down. Its own
typeface is embedded, so that a label looks alike on every printer; it bears the Latin letters
of Europe, and what it has no glyph for is printed as its bare letter or a question mark.
"""

import unicodedata
from collections.abc import Sequence
from functools import cache
from typing import IO, Any

import segno

from protocols.hazards import Hazard

PLAIN, BOLD = "Vera", "VeraBd"
QUIET = 4  # modules of white around a code: what a reader needs, ISO/IEC 18004


def millimetres(length: float) -> float:
    """So many millimetres in points of 1/72 inch."""
    return length * 72 / 25.4


def paper(into: IO[bytes], title: str, width: float, height: float) -> Any:
    """An empty document; the same content gives the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    fonts()
    size = (millimetres(width), millimetres(height))
    canvas = Canvas(into, pagesize=size, invariant=1, pageCompression=0)
    canvas.setTitle(printable(title))
    canvas.setAuthor("Fillmark")
    return canvas


@cache
def fonts() -> frozenset[int]:
    """Register the typeface; the code points that it has glyphs for."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (PLAIN, BOLD):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    return frozenset(pdfmetrics.getFont(PLAIN).face.charToGlyph)


def printable(text: str) -> str:
    """The text in letters that can be printed."""
    return "".join(_letter(one) for one in unicodedata.normalize("NFC", text))


def _letter(one: str) -> str:
    if ord(one) in fonts():
        return one
    bare = unicodedata.normalize("NFKD", one)[0]
    return bare if ord(bare) in fonts() else "?"


def width_of(text: str, font: str, size: float) -> float:
    """How wide a text is at `size` points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    fonts()
    return float(stringWidth(printable(text), font, size)) * 25.4 / 72


def line(
    canvas: Any,
    text: str,
    at: tuple[float, float],
    *,
    wide: float,
    size: float = 8,
    least: float = 5,
    font: str = PLAIN,
) -> None:
    """One line with its foot at `at`: smaller where it would be too wide, then cut."""
    (x, y), start = at, size
    while size > max(least, start * 0.8) and width_of(text, font, size) > wide:
        size -= 0.5
    shown = printable(text)
    if width_of(shown, font, size) > wide:
        while shown and width_of(f"{shown}…", font, size) > wide:
            shown = shown[:-1]
        shown = f"{shown}…"
    canvas.setFont(font, size)
    canvas.drawString(millimetres(x), millimetres(y), shown)


def wrapped(text: str, font: str, size: float, wide: float) -> list[str]:
    """The text in lines that are no wider than `wide`, broken between words."""
    lines: list[str] = []
    for word in text.split():
        if lines and width_of(f"{lines[-1]} {word}", font, size) <= wide:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def code(canvas: Any, text: str, at: tuple[float, float], size: float, error: str) -> None:
    """A QR code of `text`, `size` wide with its quiet zone, its lower left corner at `at`.

    Capitals, digits and `-./:` alone take the short alphanumeric mode. Each dark run of a row
    is one rectangle, so that no hairline shows between modules.
    """
    matrix = [bytes(row) for row in segno.make(text, error=error, micro=False).matrix]
    whole = len(matrix) + 2 * QUIET
    module, (left, foot) = millimetres(size) / whole, at
    x0, y0 = millimetres(left), millimetres(foot)
    canvas.setFillGray(0)
    for n, row in enumerate(matrix):
        y = y0 + (whole - QUIET - n - 1) * module
        for start, length in _runs(row):
            canvas.rect(x0 + (QUIET + start) * module, y, length * module, module, 0, 1)


def _runs(row: bytes) -> list[tuple[int, int]]:
    """Where dark modules begin in a row, and how many follow."""
    found: list[tuple[int, int]] = []
    for place, dark in enumerate(row):
        if not dark:
            continue
        if found and sum(found[-1]) == place:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((place, 1))
    return found


# -- Our own signs -----------------------------------------------------------------------------

Points = Sequence[tuple[float, float]]
# In a square of 10 by 10, the foot at the bottom: closed outlines that are filled.
SPINES: Sequence[Points] = (
    (
        (0.5, 1),
        (1.4, 7),
        (2.6, 2.4),
        (4, 9.2),
        (5, 2.6),
        (6.4, 9.2),
        (7.4, 2.4),
        (8.6, 7),
        (9.5, 1),
    ),
)


def sign(canvas: Any, hazard: Hazard, at: tuple[float, float], size: float) -> None:
    """The sign of a hazard in black, `size` wide, its lower left corner at `at`.

    Never without its word beside it.
    """
    canvas.saveState()
    canvas.translate(millimetres(at[0]), millimetres(at[1]))
    canvas.scale(millimetres(size) / 10, millimetres(size) / 10)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    canvas.setLineWidth(1.1)
    SIGNS[hazard](canvas)
    canvas.restoreState()


def _filled(canvas: Any, shapes: Sequence[Points]) -> None:
    for shape in shapes:
        path = canvas.beginPath()
        path.moveTo(*shape[0])
        for point in shape[1:]:
            path.lineTo(*point)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)


def _drop(canvas: Any) -> None:
    """A drop at the point of a spine."""
    path = canvas.beginPath()
    path.moveTo(5, 9.8)
    path.curveTo(5.6, 7, 8.2, 5.6, 8.2, 3.4)
    path.curveTo(8.2, -0.9, 1.8, -0.9, 1.8, 3.4)
    path.curveTo(1.8, 5.6, 4.4, 7, 5, 9.8)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setStrokeGray(1)
    canvas.line(3.5, 3.4, 6.5, 3.4)
    canvas.line(5, 1.9, 5, 4.9)


def _mark_in_ring(canvas: Any) -> None:
    """Mind the water: a mark of exclamation in a ring."""
    canvas.circle(5, 5, 4.3, stroke=1, fill=0)
    canvas.rect(4.3, 4.3, 1.4, 3.6, stroke=0, fill=1)
    canvas.rect(4.3, 2.1, 1.4, 1.4, stroke=0, fill=1)


def _bucket(canvas: Any) -> None:
    """A bucket with a cross in it: nothing goes in with the bleach."""
    for ends in ((1, 8, 2.4, 0.8), (2.4, 0.8, 7.6, 0.8), (7.6, 0.8, 9, 8)):
        canvas.line(*ends)
    canvas.line(0.4, 8, 9.6, 8)
    canvas.line(3.4, 2.6, 6.6, 6.2)
    canvas.line(6.6, 2.6, 3.4, 6.2)


SIGNS = {
    Hazard.SPINES: lambda canvas: _filled(canvas, SPINES),
    Hazard.POISON: _mark_in_ring,
    Hazard.VENOM: _drop,
    Hazard.BLEACH: _bucket,
}
