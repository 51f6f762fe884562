"""What touched what on a day: a line for each place, an arrow for each contact, in order."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import element, picture, polygon

LEFT, TOP, STEP, ROW, END = 96, 34, 104, 52, 40
# The word stands beside it: the dashes only repeat how readily something passes that way.
DASHES = {"strong": None, "likely": "8 4", "possible": "3 5"}


@dataclass(frozen=True, slots=True)
class Arrow:
    """From one place to another at a time of day, by a way that is graded."""

    begin: str
    end: str
    time: str
    way: str
    grade: str


def touches_picture(arrows: Sequence[Arrow]) -> SafeString:
    """The table beside it says the same."""
    if not arrows:
        return SafeString("")
    places = sorted({name for one in arrows for name in (one.begin, one.end)})
    ys = {name: TOP + ROW // 2 + n * ROW for n, name in enumerate(places)}
    width = LEFT + len(arrows) * STEP + END
    height = TOP + len(places) * ROW + 8
    return picture(
        *(part for name in places for part in _place(name, ys[name], width)),
        *(part for n, one in enumerate(arrows) for part in _arrow(one, n, ys)),
        title=_("What touched what"),
        desc="; ".join(
            _("{time}: {begin} to {end}, {way}, {grade}").format(
                time=one.time, begin=one.begin, end=one.end, way=one.way, grade=one.grade
            )
            for one in arrows
        ),
        css="touches",
        width=width,
        height=height,
        box=f"0 0 {width} {height}",
    )


def _place(name: str, y: int, width: int) -> Iterator[SafeString]:
    yield element("text", name, x=4, y=y + 5, class_="name")
    yield element("line", x1=LEFT - 8, y1=y, x2=width - 8, y2=y, class_="place")


def _arrow(one: Arrow, n: int, ys: dict[str, int]) -> Iterator[SafeString]:
    x, begin, end = LEFT + n * STEP + STEP // 3, ys[one.begin], ys[one.end]
    down = 1 if end > begin else -1
    tip = end - 4 * down
    yield element("text", one.time, x=x - 18, y=18)
    yield element("circle", cx=x, cy=begin, r=6, class_="knot")
    yield element(
        "line",
        x1=x,
        y1=begin + 7 * down,
        x2=x,
        y2=tip - 9 * down,
        class_="way",
        stroke_dasharray=DASHES[one.grade],
    )
    yield polygon(((x, tip), (x - 7, tip - 13 * down), (x + 7, tip - 13 * down)), class_="ink")
    yield element("text", one.way, x=x + 12, y=(begin + end) // 2 + 5, class_="on-line")
