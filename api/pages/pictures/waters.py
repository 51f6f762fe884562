"""Ammonia over a stay with its readings, and a quantity against its range."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.language import Figure
from api.pages.pictures.scale import Scale
from api.pages.pictures.svg import Hatch, at, element, picture

TOP, FOOT = 12.0, 152.0
Height = Callable[[float], float]
HEIGHT = 182
CHANGED = f"M0 {FOOT:.0f}v10M-6 {FOOT + 10:.0f}h12"


@dataclass(frozen=True, slots=True)
class Level:
    """NH3-N in mg/L at a moment."""

    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading as NH3-N; `most` is the upper end of its error, `free` was read as it is."""

    at: datetime
    value: float
    most: float
    free: bool
    over: bool


@dataclass(frozen=True, slots=True)
class AmmoniaShown:
    """What the picture needs; `low` and `high` are the planned line for other weights."""

    scale: Scale
    now: datetime
    alarm: float
    planned: tuple[Level, ...] = ()
    low: tuple[Level, ...] = ()
    high: tuple[Level, ...] = ()
    since: tuple[Level, ...] = ()
    measured: tuple[Measured, ...] = ()
    changed: tuple[datetime, ...] = ()


STATES = {"inside": Hatch.WATER, "outside": Hatch.CROSS, "unknown": Hatch.DOTS}


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a strip, by the word for its hatch."""

    begins: datetime
    ends: datetime
    state: str


def ammonia_curve(shown: AmmoniaShown, *, says: str = "") -> SafeString:
    """The forecast as a line, readings as marks on it, the alarm as a dashed line."""
    every = [shown.alarm * 1.4, *(one.value * 1.08 for one in (*shown.high, *shown.since))]
    top = max([*every, *(one.most * 1.08 for one in shown.measured)])

    def y(value: float) -> float:
        return FOOT - (FOOT - TOP) * value / top

    place = shown.scale.place
    alarm = y(shown.alarm)
    return picture(
        element("rect", x=0, y=TOP, width="100%", height=FOOT - TOP, class_="inside"),
        *_hours(shown.scale),
        element("line", x1=0, x2="100%", y1=alarm, y2=alarm, class_="alarm-line"),
        element(
            "text",
            _("alarm {level:g}").format(level=Figure(shown.alarm)),
            x=6,
            y=alarm - 6,
            class_="alarm-name",
        ),
        *(_line(line, "curve spread", shown.scale, y) for line in (shown.low, shown.high)),
        _line(shown.planned, "curve", shown.scale, y),
        _line(shown.since, "curve since", shown.scale, y),
        *(
            at(
                place(one),
                element("path", d=CHANGED, class_="now-line"),
            )
            for one in shown.changed
        ),
        element(
            "line",
            x1=place(shown.now),
            x2=place(shown.now),
            y1=TOP,
            y2=FOOT,
            class_="now-line",
        ),
        *(_mark(one, shown.scale, y) for one in shown.measured),
        element("rect", x=0, y=TOP, width="100%", height=FOOT - TOP, class_="edge"),
        title=_("Ammonia ahead: NH3-N in mg/L over the stay"),
        desc=says,
        css="strip ammonia",
        width="100%",
        height=HEIGHT,
    )


def _hours(scale: Scale) -> Iterator[SafeString]:
    """A fine line for every day of the stay, with its hours under it."""
    hours = int((scale.ends - scale.begins).total_seconds() // 3600)
    for hour in range(0, hours + 1, 24):
        x = scale.place(scale.begins + timedelta(hours=hour))
        if 0 < hour < hours:
            yield element("line", x1=x, x2=x, y1=TOP, y2=FOOT, class_="hour-line")
        css = "hour-name" + (" first" if hour == 0 else " last" if hour == hours else "")
        yield element("text", f"{hour} h", x=x, y=FOOT + 24, class_=css)


def _line(levels: Sequence[Level], css: str, scale: Scale, y: Height) -> SafeString:
    """Straight pieces between the points: places along the strip are shares of its width."""
    pieces = [
        element(
            "line",
            x1=scale.place(one.at),
            x2=scale.place(two.at),
            y1=y(one.value),
            y2=y(two.value),
            class_=css,
        )
        for one, two in pairwise(levels)
    ]
    return element("g", *pieces)


def _mark(one: Measured, scale: Scale, y: Height) -> SafeString:
    middle, most = y(one.value), y(one.most)
    css = "reading over" if one.over else "reading"
    shape = (
        element("path", d=f"M0 {middle - 8:.1f}l8 8-8 8-8-8z", class_=css)
        if one.free
        else element("circle", cx=0, cy=middle, r=6, class_=css)
    )
    error = element("line", x1=0, x2=0, y1=most, y2=middle, class_="error")
    return at(scale.place(one.at), error, shape)


def range_strip(parts: Sequence[Part], scale: Scale, name: str) -> SafeString:
    """Hours inside, outside and unknown, each with its hatch; the words stand beside it."""
    return picture(
        element("rect", x=0, y=2, width="100%", height=22, class_="inside"),
        *(
            scale.bar(one.begins, one.ends, 2, 22, "part", STATES[one.state].fill)
            for one in parts
        ),
        element("rect", x=0, y=2, width="100%", height=22, class_="edge"),
        title=_("{name} during the stay").format(name=name),
        desc=", ".join(dict.fromkeys(one.state for one in parts)) or _("Nothing was read."),
        css="strip",
        width="100%",
        height=26,
    )
