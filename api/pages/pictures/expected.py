"""Expected numbers of the parasite by hour: three lines over decades, stays behind them."""

from collections.abc import Iterator, Sequence
from math import floor, log10

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import element, picture

WIDTH, HEIGHT, LEFT, FOOT = 420, 220, 46, 24
KEY, LETTER = 54, 8  # a piece of line with its gaps, and about the width of a letter
LEAST = 1e-6  # below it nothing is drawn, as nothing is said
DASHES = {"on the fish": "", "cysts": "8 4", "swimming": "2 4"}


def expected_numbers(
    hours: int, moves: Sequence[int], lines: Sequence[tuple[str, Sequence[float]]]
) -> SafeString:
    """Lines by name over hours 0 to `hours`; each name has its own dashes. Moves are posts."""
    most = max((max(numbers, default=0.0) for _, numbers in lines), default=1.0)
    top = floor(log10(max(most, 1.0))) + 1
    frame = _Frame(max(hours, 1), top)
    body = [*frame.grid(), *(frame.post(hour) for hour in moves)]
    along = LEFT
    for name, numbers in lines:
        body += frame.line(numbers, DASHES.get(name, ""))
        body += frame.key(along, name, DASHES.get(name, ""))
        along += KEY + LETTER * len(name)
    said = ", ".join(f"{name} {_last(numbers)}" for name, numbers in lines)
    return picture(
        *body,
        title=_("Expected numbers of the parasite by hour"),
        desc=_(
            "On a scale of tens. At the end: {said}. The table below has the same by stay."
        ).format(said=said),
        css="expected",
        width="100%",
        height=HEIGHT + 24,
        box=f"0 0 {WIDTH} {HEIGHT + 24}",
    )


def _last(numbers: Sequence[float]) -> str:
    return (
        f"{numbers[-1]:.2g}"
        if numbers and numbers[-1] >= LEAST
        else _("below one in a million")
    )


class _Frame:
    def __init__(self, hours: int, top: int) -> None:
        self.hours, self.top = hours, top
        self.decades = top - round(log10(LEAST))

    def x(self, hour: float) -> float:
        return LEFT + (WIDTH - LEFT - 8) * hour / self.hours

    def y(self, number: float) -> float:
        below = self.top - log10(max(number, LEAST))
        return 8 + (HEIGHT - FOOT - 8) * below / self.decades

    def grid(self) -> Iterator[SafeString]:
        yield element(
            "rect",
            x=LEFT,
            y=8,
            width=WIDTH - LEFT - 8,
            height=HEIGHT - FOOT - 8,
            class_="inside",
        )
        for power in range(self.top, self.top - self.decades - 1, -2):
            y = self.y(10.0**power)
            yield element("path", d=f"M{LEFT} {y:.1f}H{WIDTH - 8}", class_="edge")
            yield element("text", _round(power), x=LEFT - 4, y=f"{y + 4:.1f}", class_="end")
        days = self.hours // 24
        for day in range(0, days + 1, max(2, days // 6)):
            yield element(
                "text",
                f"day {day + 1}" if not day else day + 1,
                x=f"{self.x(day * 24):.1f}",
                y=HEIGHT - 6,
            )

    def post(self, hour: int) -> SafeString:
        x = f"{self.x(hour):.1f}"
        return element("path", d=f"M{x} 8V{HEIGHT - FOOT}", class_="post", stroke_width=2)

    def line(self, numbers: Sequence[float], dashes: str) -> Iterator[SafeString]:
        points = [(self.x(t), self.y(n)) for t, n in enumerate(numbers)]
        path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        yield element("path", d=path, class_="drawn", stroke_dasharray=dashes or None)

    def key(self, x: int, name: str, dashes: str) -> Iterator[SafeString]:
        y = HEIGHT + 14
        yield element("path", d=f"M{x} {y}h32", class_="drawn", stroke_dasharray=dashes or None)
        yield element("text", name, x=x + 38, y=y + 4)


def _round(power: int) -> str:
    return f"{10**power:,}" if power >= 0 else f"1e{power}"
