"""Litres needed by day, against what stands ready: bars, with their table beside them."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import Hatch, element, percent, picture, swatch

ROW, BAR = 34, 22
# Where bars begin, and how far the longest goes: names stand before, figures behind.
BEGINS, LONGEST = 0.24, 0.52
COVERED, SHORT = Hatch.UPRIGHTS, Hatch.SLANT


@dataclass(frozen=True, slots=True)
class Bar:
    """One day: its name, litres that stand ready for it, litres still to be mixed."""

    name: str
    covered: float
    to_mix: float

    @property
    def litres(self) -> float:
        return self.covered + self.to_mix


def need_bars(bars: Sequence[Bar]) -> SafeString:
    """A bar for each day; the part that nothing stands ready for is hatched otherwise."""
    most = max((one.litres for one in bars), default=0) or 1
    shapes = [shape for n, one in enumerate(bars) for shape in _row(n, one, most)]
    said = (
        _("{name}: {litres:.0f} L, to mix {to_mix:.0f} L").format(
            name=one.name, litres=one.litres, to_mix=one.to_mix
        )
        for one in bars
    )
    return picture(
        *shapes,
        title=_("Water needed by day"),
        desc="; ".join(said) or _("No days."),
        css="strip need-bars",
        width="100%",
        height=ROW * len(bars),
    )


def need_key() -> SafeString:
    """What the two hatches mean, in words."""
    return element(
        "ul",
        element("li", swatch(COVERED), " stands ready"),
        element("li", swatch(SHORT), " to be mixed"),
        class_="key",
    )


def _row(n: int, one: Bar, most: float) -> list[SafeString]:
    top, scale = n * ROW, LONGEST / most
    begins, end = BEGINS, BEGINS + one.litres * scale
    shapes = [element("text", one.name, x=0, y=top + BAR - 4)]
    for litres, hatch in ((one.covered, COVERED), (one.to_mix, SHORT)):
        if litres > 0:
            shapes.append(_part(begins, litres * scale, top, hatch))
            begins += litres * scale
    shapes.append(
        element("text", f"{one.litres:.0f} L", x=percent(end + 0.01), y=top + BAR - 4)
    )
    return shapes


def _part(begins: float, length: float, top: int, hatch: Hatch) -> SafeString:
    return element(
        "rect",
        x=percent(begins),
        y=top,
        width=percent(length),
        height=BAR,
        fill=hatch.fill,
        class_="part",
    )
