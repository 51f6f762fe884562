"""The pen: SVG elements from plain values, every text escaped, no style attribute, no id."""

from collections.abc import Iterable
from enum import StrEnum

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

Value = str | int | float | None

_KEPT_AS_WRITTEN = {"viewBox", "preserveAspectRatio"}


class Hatch(StrEnum):
    """The hatches of `parts/hatches.html`. A state always has a word beside its hatch."""

    WATER = "water"
    SPECKS = "specks"
    DASHES = "dashes"
    UPRIGHTS = "uprights"
    SLANT = "slant"
    BACKSLANT = "backslant"
    NIGHT = "night"
    CROSS = "cross"
    DOTS = "dots"
    RINGS = "rings"
    WAVES = "waves"
    FORTH = "forth"
    BACK = "back"
    BRICKS = "bricks"
    SOLID = "solid"

    @property
    def fill(self) -> str:
        """Value of a `fill` attribute; the pattern itself stands once in every page."""
        return f"url(#hatch-{self.value})"


def element(name: str, /, *content: str | int, **attributes: Value) -> SafeString:
    """One element. `class_` and `stroke_width` become `class` and `stroke-width`; no None."""
    written = format_html_join(
        "",
        ' {}="{}"',
        (
            (_attribute(key), _number(value))
            for key, value in attributes.items()
            if value is not None
        ),
    )
    inside = join(content)
    return format_html("<{}{}>{}</{}>", name, written, inside, name)


def join(parts: Iterable[str | int]) -> SafeString:
    """Parts one after the other; what is not already safe is escaped."""
    return format_html_join("", "{}", ((part,) for part in parts))


def picture(
    *body: str,
    title: str,
    desc: str,
    css: str,
    width: Value,
    height: Value,
    box: str | None = None,
    role: str = "img",
) -> SafeString:
    """A whole picture with its name and description for people who do not see it.

    `role` is `group` where the picture holds links: in an `img` nobody could reach them.
    """
    return element(
        "svg",
        element("title", title),
        element("desc", desc),
        *body,
        class_=f"picture {css}",
        role=role,
        width=width,
        height=height,
        viewBox=box,
        focusable="false",
    )


def polygon(points: Iterable[tuple[float, float]], **attributes: Value) -> SafeString:
    """A closed shape through points in user units."""
    written = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
    return element("polygon", points=written, **attributes)


def percent(share: float) -> str:
    """A share of 0 to 1 as a place in a picture that stretches with its column."""
    return f"{_number(100 * share)}%"


def at(x: str, *body: str, y: float = 0) -> SafeString:
    """Shapes of fixed size at a place that stretches."""
    return element("svg", *body, x=x, y=y, overflow="visible", width=1, height=1)


def swatch(hatch: Hatch) -> SafeString:
    """A small sample of a hatch, for keys and tables; the word stands beside it."""
    sample = element("rect", x=1, y=1, width=30, height=18, fill=hatch.fill, class_="sample")
    return element(
        "svg",
        sample,
        class_="swatch",
        width=32,
        height=20,
        viewBox="0 0 32 20",
        aria_hidden="true",
    )


def _attribute(key: str) -> str:
    return key if key in _KEPT_AS_WRITTEN else key.rstrip("_").replace("_", "-")


def _number(value: Value) -> Value:
    if not isinstance(value, float):
        return value
    return f"{value:.2f}".rstrip("0").rstrip(".")
