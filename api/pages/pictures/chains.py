"""The chain of stays of a batch, with every restart in sight."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.scale import Scale, now_mark
from api.pages.pictures.svg import Hatch, at, element, join, picture


@dataclass(frozen=True, slots=True)
class ChainStay:
    """One stay of the chain. `verdict` as judged: on_time, within_tolerance, unproven, over."""

    container: str
    began: datetime
    ended: datetime | None = None
    limit: datetime | None = None
    verdict: str | None = None
    series: int = 1


@dataclass(frozen=True, slots=True)
class Watch:
    """The observation after a complete series; `stopped` where a sign ended it at `ends`."""

    began: datetime
    ends: datetime
    stopped: bool = False


ROW_PX = 58


def series_strip(
    stays: Sequence[ChainStay],
    *,
    now: datetime,
    says: Mapping[int, str] | None = None,
    earliest_end: datetime | None = None,
    watch: Watch | None = None,
) -> SafeString:
    """The stays of a batch, a row for each series: where one ends, the next begins lower.

    `says` gives the words over a row by series number ("Series 1, broken: late").
    """
    if not stays:
        return SafeString("")
    ends = [stay.ended or now for stay in stays] + [earliest_end or now, now]
    scale = Scale(min(s.began for s in stays), max(ends + ([watch.ends] if watch else [])))
    numbers = sorted({stay.series for stay in stays})
    words = [(says or {}).get(number, f"Series {number}") for number in numbers]
    foot = (len(numbers) - 1) * ROW_PX
    return picture(
        *_rows(stays, words, scale, now),
        *(_watch(watch, foot, scale) if watch else ()),
        *_places(stays, numbers, scale, now),
        *(_goal(earliest_end, now, foot, scale) if earliest_end else ()),
        at(scale.place(now), now_mark(foot + 20, foot + 50)),
        title=_("The stays of the batch, placement to placement"),
        desc="; ".join(words) + ".",
        css="strip series-strip",
        width="100%",
        height=foot + ROW_PX + 4,
    )


def _rows(
    stays: Sequence[ChainStay], words: Sequence[str], scale: Scale, now: datetime
) -> Iterator[SafeString]:
    """First the ways down from row to row, so that words stand on them and not under them."""
    numbers = sorted({stay.series for stay in stays})
    series = [[stay for stay in stays if stay.series == number] for number in numbers]
    breaks = [scale.place(min(stay.began for stay in row)) for row in series[1:]]
    yield from (at(place, _drop(row * ROW_PX)) for row, place in enumerate(breaks))
    for row, (said, links) in enumerate(zip(words, series, strict=True)):
        yield _row(links, said, row, scale, now)
    yield from (at(place, _torn(row * ROW_PX)) for row, place in enumerate(breaks))


def _row(
    stays: Sequence[ChainStay], words: str, row: int, scale: Scale, now: datetime
) -> SafeString:
    top = row * ROW_PX
    links = [part for stay in stays for part in _link(stay, top, scale, now)]
    knots = [
        at(scale.place(stay.began), element("circle", r=5, cy=top + 37, class_="knot"))
        for stay in stays
    ]
    return join([element("text", words, x=0, y=top + 14, class_="row-name"), *links, *knots])


def _link(stay: ChainStay, top: int, scale: Scale, now: datetime) -> Iterator[SafeString]:
    until = stay.ended or now
    inside = min(until, stay.limit) if stay.limit else until
    unproven = stay.verdict == "unproven"
    hatch = Hatch.DOTS if unproven else Hatch.WATER
    yield scale.bar(stay.began, until, top + 24, 26, "inside")
    yield scale.bar(stay.began, inside, top + 24, 26, "hatched", hatch.fill)
    if stay.limit and until > stay.limit:
        yield scale.bar(inside, until, top + 24, 26, "ink")
    yield scale.bar(stay.began, until, top + 24, 26, "edge dashed" if unproven else "edge")


def _places(
    stays: Sequence[ChainStay], numbers: Sequence[int], scale: Scale, now: datetime
) -> Iterator[SafeString]:
    """The containers' labels where there is room, above every hatch."""
    for stay in stays:
        until = stay.ended or now
        share = scale.share(until) - scale.share(stay.began)
        if share > 0.09:
            middle = scale.place(stay.began + (until - stay.began) / 2)
            css = "on-hatch" if share > 0.2 else "on-hatch tight"
            y = numbers.index(stay.series) * ROW_PX + 42
            yield element("text", stay.container, x=middle, y=y, class_=css)


def _torn(top: int) -> SafeString:
    """A series ends here without being complete."""
    return element("path", d=f"M-5 {top + 20}l8 8-10 6 10 6-8 8", class_="torn")


def _drop(top: int) -> SafeString:
    """From the end of a series down to the placement with which the next one begins."""
    return element("line", x1=0, x2=0, y1=top + 37, y2=top + ROW_PX + 37, class_="drop")


def _watch(watch: Watch, top: int, scale: Scale) -> Iterator[SafeString]:
    yield scale.bar(watch.began, watch.ends, top + 30, 14, "hatched", Hatch.DOTS.fill)
    yield scale.bar(watch.began, watch.ends, top + 30, 14, "edge")
    if watch.stopped:
        yield at(scale.place(watch.ends), _torn(top))


def _goal(
    earliest_end: datetime, now: datetime, top: int, scale: Scale
) -> Iterator[SafeString]:
    y = top + 37
    ahead, end = scale.place(now), scale.place(max(now, earliest_end))
    yield element("line", x1=ahead, x2=end, y1=y, y2=y, class_="drop")
    flag = element("path", d=f"M0 {y - 6}l5 6-5 6-5-6z", class_="planned")
    yield at(scale.place(earliest_end), flag)
