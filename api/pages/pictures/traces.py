"""A trace: a line for each thing from when it was reached, and from which it came."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import element, picture
from api.pages.words import plain

LEFT, RIGHT, TOP, ROW, WIDTH = 230, 24, 16, 40, 860
# The word stands beside it: the dashes only repeat how readily something passes that way.
DASHES = {"strong": None, "likely": "8 4", "possible": "3 5"}


@dataclass(frozen=True, slots=True)
class Lane:
    """A thing, when it was reached at the best, how readily, and from which other lane."""

    name: str
    label: str
    at: datetime
    grade: str
    came_from: str


def trace_picture(start: Lane, lanes: Sequence[Lane], *, says: str) -> SafeString:
    """The table beside it says the same. The start stands on top, the others by time."""
    if not lanes:
        return SafeString("")
    every = [start, *sorted(lanes, key=lambda one: (one.at, one.label))]
    ys = {one.name: TOP + n * ROW + ROW // 2 for n, one in enumerate(every)}
    moments = [one.at.timestamp() for one in every]
    first, last = min(moments), max(moments)
    inside = WIDTH - LEFT - RIGHT

    def x(one: Lane) -> float:
        if last == first:
            return float(LEFT)
        return LEFT + inside * (one.at.timestamp() - first) / (last - first)

    height = TOP + len(every) * ROW + 8
    return picture(
        *(part for one in every for part in _lane(one, x(one), ys)),
        title=says,
        desc="; ".join(
            _("{label}: {grade}").format(label=one.label, grade=plain(one.grade))
            for one in every
        ),
        css="touches",
        width=WIDTH,
        height=height,
        box=f"0 0 {WIDTH} {height}",
    )


def _lane(one: Lane, x: float, ys: dict[str, int]) -> Iterator[SafeString]:
    y = ys[one.name]
    yield element("text", one.label, x=4, y=y + 5, class_="name")
    yield element("line", x1=x, y1=y, x2=WIDTH - RIGHT, y2=y, class_="place")
    if (above := ys.get(one.came_from)) is not None and above != y:
        yield element(
            "line",
            x1=x,
            y1=above,
            x2=x,
            y2=y,
            class_="way",
            stroke_dasharray=DASHES[one.grade],
        )
    yield element("circle", cx=x, cy=y, r=6, class_="knot")
