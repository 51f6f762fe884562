"""Time along a strip that stretches with its column."""

from dataclasses import dataclass
from datetime import datetime

from django.utils.safestring import SafeString

from api.pages.pictures.svg import element, join, percent


@dataclass(frozen=True, slots=True)
class Scale:
    """A strip from one moment to another; what lies outside is drawn at its end."""

    begins: datetime
    ends: datetime

    def share(self, moment: datetime) -> float:
        whole = (self.ends - self.begins).total_seconds()
        passed = (moment - self.begins).total_seconds()
        return min(1.0, max(0.0, passed / whole)) if whole > 0 else 0.0

    def place(self, moment: datetime) -> str:
        return percent(self.share(moment))

    def bar(
        self,
        begins: datetime,
        ends: datetime,
        y: float,
        height: float,
        css: str,
        fill: str | None = None,
    ) -> SafeString:
        """From one moment to another, `y` and `height` in pixels."""
        width = percent(max(0.0, self.share(ends) - self.share(begins)))
        x = self.place(begins)
        return element("rect", x=x, y=y, width=width, height=height, fill=fill, class_=css)


def now_mark(top: float, bottom: float) -> SafeString:
    """The notch, and under it a line through the strip."""
    notch = element("path", d=f"M-9 {top:.0f}h18l-9 13z", class_="now")
    return join([element("line", x1=0, x2=0, y1=top, y2=bottom, class_="now-line"), notch])
