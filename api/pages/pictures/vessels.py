"""The water clock, alone and on its rack: water rises with the hours, the brim is the limit."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import Hatch, element, join, picture, polygon

DAY_S = 86_400
SPILLED_S = 21_600  # a picture of more than six hours over looks like six; the text says it

EMPTY: dict[str, Hatch | None] = {
    "ready": None,
    "dirty": Hatch.SPECKS,
    "disinfected": Hatch.DASHES,
    "drying": Hatch.UPRIGHTS,
    "reserved": Hatch.SLANT,
    "incomplete": Hatch.RINGS,
    "defective": Hatch.CROSS,
}
"""How an empty vessel is hatched in each state; whatever is not known here stays blank."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """A container as it is drawn.

    `x_m` is the middle of the container along the rack, `z_m` the height of its floor. `text`
    is the short line under its label ("4:20 left", "drying"). `limit_s` is None where nothing
    limits the stay. `planned_s` is the planned moment, counted from the placement.
    """

    label: str
    text: str
    occupied: bool = False
    elapsed_s: int = 0
    limit_s: int | None = None
    planned_s: int | None = None
    state: str = "ready"
    href: str | None = None
    tapered: bool = True
    x_m: float = 0.0
    z_m: float = 0.0
    width_m: float = 0.4
    height_m: float = 0.4


def water_clock(
    elapsed_s: int,
    limit_s: int | None,
    *,
    occupied: bool,
    label: str,
    text: str,
    state: str = "ready",
    planned_s: int | None = None,
    tapered: bool = True,
    height: int = 112,
) -> SafeString:
    """One vessel. Seconds since the placement, seconds of the limit, height in pixels.

    Raises ValueError for a time below zero or a limit that is not above it.
    """
    vessel = Vessel(
        label, text, occupied, elapsed_s, limit_s, planned_s, state, tapered=tapered
    )
    drawn = element("g", draw(vessel, 76.0, 84.0), transform="translate(18 18)")
    return picture(
        drawn,
        title=f"{label}: {text}",
        desc=described(vessel),
        css="water-clock",
        width=height,
        height=height,
        box="0 0 112 112",
    )


def described(vessel: Vessel) -> str:
    """The picture in words."""
    if not vessel.occupied:
        return _("An empty container, {state}.").format(state=_(vessel.state.replace("_", " ")))
    if vessel.limit_s is None:
        return _("An occupied container without a limit.")
    share = round(100 * vessel.elapsed_s / vessel.limit_s)
    if vessel.elapsed_s > vessel.limit_s:
        return _("The stay is past its limit: the vessel runs over its brim.")
    return _("{share} percent of the stay's limit has passed; the brim is the limit.").format(
        share=share
    )


def draw(vessel: Vessel, width: float, height: float) -> SafeString:
    """The shapes of one vessel, its inside from (0, 0) to (width, height) in user units.

    Raises ValueError for a time below zero or a limit that is not above it.
    """
    if vessel.elapsed_s < 0 or (vessel.limit_s is not None and vessel.limit_s <= 0):
        raise ValueError("a stay lasts no less than nothing, and its limit is above zero")
    foot = width * (0.09 if vessel.tapered else 0.0)
    inside = [(0.0, 0.0), (width, 0.0), (width - foot, height), (foot, height)]
    return join(
        (
            polygon(inside, class_="inside"),
            *_content(vessel, width, height, foot),
            _wall(vessel, width, height, foot),
        )
    )


def _content(vessel: Vessel, width: float, height: float, foot: float) -> Iterator[SafeString]:
    if not vessel.occupied:
        yield from _emptiness(vessel, width, height, foot)
    elif vessel.limit_s is None:
        yield _filled(0.0, width, height, foot, Hatch.WAVES.fill)
    else:
        yield from _water(vessel, vessel.limit_s, width, height, foot)


def _emptiness(
    vessel: Vessel, width: float, height: float, foot: float
) -> Iterator[SafeString]:
    hatch = EMPTY.get(vessel.state)
    if hatch:
        yield _filled(0.0, width, height, foot, hatch.fill)


def _water(
    vessel: Vessel, limit_s: int, width: float, height: float, foot: float
) -> Iterator[SafeString]:
    level = height * (1 - min(1.0, vessel.elapsed_s / limit_s))
    yield _filled(level, width, height, foot, None)
    yield _filled(level, width, height, foot, Hatch.WATER.fill)
    yield _surface(level, width, height, foot)
    for day in range(1, (limit_s - 1) // DAY_S + 1):
        mark = height * (1 - day * DAY_S / limit_s)
        x = foot * mark / height
        yield element("line", x1=x, x2=x + width * 0.16, y1=mark, y2=mark, class_="day")
    if vessel.planned_s is not None and 0 <= vessel.planned_s <= limit_s:
        yield _peg(height * (1 - vessel.planned_s / limit_s), width, height, foot)
    if vessel.elapsed_s > limit_s:
        over = min(1.0, (vessel.elapsed_s - limit_s) / SPILLED_S)
        yield _spill(over, width, height, foot)


def _filled(
    top: float, width: float, height: float, foot: float, fill: str | None
) -> SafeString:
    x = foot * top / height
    points = [(x, top), (width - x, top), (width - foot, height), (foot, height)]
    return polygon(points, fill=fill, class_="water" if fill is None else "hatched")


def _surface(level: float, width: float, height: float, foot: float) -> SafeString:
    x = foot * level / height
    quarter = (width - 2 * x) / 4
    wave = (
        f"M{x:.1f} {level:.1f}q{quarter / 2:.1f} -3 {quarter:.1f} 0" + f"t{quarter:.1f} 0" * 3
    )
    return element("path", d=wave, class_="surface")


def _peg(level: float, width: float, height: float, foot: float) -> SafeString:
    x = width - foot * level / height + 3
    return polygon([(x, level), (x + 9, level - 5), (x + 9, level + 5)], class_="peg")


def _spill(share: float, width: float, height: float, foot: float) -> SafeString:
    """Ink over both brims; the longer over, the farther down, and at last a puddle."""
    down = height * (0.3 + 0.7 * share)
    slope = foot / height
    mirrored = f"translate({width:.1f} 0) scale(-1 1)"
    dome = f"M2 1Q{width / 2:.1f} -10 {width - 2:.1f} 1z"
    drawn = [
        element("path", d=dome, class_="ink"),
        _sheet(down, slope, drips=share < 1),
        element("g", _sheet(down * 0.72, slope), transform=mirrored),
    ]
    if share >= 1:
        across = f"M{foot - 14:.1f} {height + 4:.1f}h{width - 2 * foot + 26:.1f}"
        drawn.append(element("path", d=across, class_="puddle"))
    return join(drawn)


def _sheet(down: float, slope: float, *, drips: bool = True) -> SafeString:
    """What runs down outside of the left wall, with a drop ahead of it."""
    x = slope * down
    run = (
        f"M7 -3C-2 -6 -8 -4 -8.5 3L{x - 8.5:.1f} {down - 8:.1f}"
        "q.5 8 3.2 8t3.3 -8L-2 8Q-1 3 7 1z"
    )
    drop = element("ellipse", cx=x - 5.3, cy=down + 7, rx=2.2, ry=3.4, class_="ink")
    sheet = element("path", d=run, class_="ink")
    return join([sheet, drop]) if drips else sheet


def _wall(vessel: Vessel, width: float, height: float, foot: float) -> SafeString:
    outline = (
        f"M-7 0H0L{foot:.1f} {height:.1f}H{width - foot:.1f}L{width:.1f} 0H{width + 7:.1f}"
    )
    broken = not vessel.occupied and vessel.state in ("incomplete", "defective")
    return element("path", d=outline, class_="wall broken" if broken else "wall")
