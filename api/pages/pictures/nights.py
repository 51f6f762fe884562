"""Three nights: one stay as a strip of 72 hours."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.language import weekday
from api.pages.pictures.scale import Scale, now_mark
from api.pages.pictures.svg import Hatch, at, element, join, picture

THREE_NIGHTS = timedelta(hours=72)


@dataclass(frozen=True, slots=True)
class Dark:
    """A span without light in the room; `label` is a short word under it, such as "Fri 8"."""

    begins: datetime
    ends: datetime
    label: str = ""


def dark_hours(
    begins: datetime, ends: datetime, *, light_off: time, light_on: time, zone: ZoneInfo
) -> tuple[Dark, ...]:
    """The dark spans of a room between two moments, labelled with the day on which each begins.

    The times are wall times of the room. For drawing only: where a wall time does not exist or
    exists twice, the span is up to an hour off.
    """
    day = begins.astimezone(zone).date() - timedelta(days=1)
    spans = []
    while (off := datetime.combine(day, light_off, zone).astimezone(UTC)) < ends:
        morning = day if light_on > light_off else day + timedelta(days=1)
        on = datetime.combine(morning, light_on, zone).astimezone(UTC)
        if on > begins:
            label = f"{weekday(day)} {day.day}"
            spans.append(Dark(max(off, begins), min(on, ends), label))
        day += timedelta(days=1)
    return tuple(spans)


def strip_ends(stay_start: datetime, limit: datetime | None, until: datetime) -> datetime:
    """Where the strip of a stay ends: after 72 hours, or later where the stay goes on."""
    return max(stay_start + THREE_NIGHTS, limit or until, until)


def three_nights(
    stay_start: datetime,
    limit: datetime | None,
    now: datetime,
    dark_hours: Sequence[Dark] = (),
    planned: datetime | None = None,
    ended: datetime | None = None,
    *,
    text: str = "",
) -> SafeString:
    """One stay as a strip of 72 hours; `text` is the remaining time as it stands beside.

    Dark hours are hatched, the limit is a post, now a notch, the planned moment a small mark.
    Raises ValueError when the stay starts after now or after its end.
    """
    until = ended or now
    if until < stay_start:
        raise ValueError("a stay starts before it ends and before now")
    scale = Scale(stay_start, strip_ends(stay_start, limit, until))
    if planned and not scale.begins <= planned <= scale.ends:
        planned = None
    return picture(
        element("rect", x=0, y=9, width="100%", height=26, class_="inside"),
        *(_dark(dark, scale) for dark in dark_hours),
        *_passed(stay_start, until, limit, scale),
        element("rect", x=0, y=9, width="100%", height=26, class_="edge"),
        *_marks(scale, limit, planned, None if ended else now),
        title=text or _("The stay as a strip of three nights"),
        desc=_strip_in_words(limit, until, planned, ended),
        css="strip three-nights",
        width="100%",
        height=56,
    )


def _dark(dark: Dark, scale: Scale) -> SafeString:
    middle = dark.begins + (dark.ends - dark.begins) / 2
    label = element("text", dark.label, x=scale.place(middle), y=50, class_="day-name")
    wide_enough = scale.share(dark.ends) - scale.share(dark.begins) > 0.08
    hatched = scale.bar(dark.begins, dark.ends, 9, 26, "hatched", Hatch.NIGHT.fill)
    return join((hatched, label if wide_enough else ""))


def _passed(
    begins: datetime, until: datetime, limit: datetime | None, scale: Scale
) -> Iterator[SafeString]:
    """The passed hours as a line of kelp along the foot; past the limit the strip is ink."""
    inside = min(until, limit) if limit else until
    yield scale.bar(begins, inside, 27, 8, "passed")
    if limit and until > limit:
        yield scale.bar(limit, until, 9, 26, "ink")


def _marks(
    scale: Scale, limit: datetime | None, planned: datetime | None, now: datetime | None
) -> Iterator[SafeString]:
    if limit:
        post = element("path", d="M-2.5 2h5v36h-5zM-7 2h14v4h-14z", class_="post")
        yield at(scale.place(limit), post)
    if planned:
        yield at(scale.place(planned), element("path", d="M0 3l5 6-5 6-5-6z", class_="planned"))
    if now:
        yield at(scale.place(now), now_mark(0, 35))


def _strip_in_words(
    limit: datetime | None, until: datetime, planned: datetime | None, ended: datetime | None
) -> str:
    verb = _("The stay ended") if ended else _("The stay is")
    if limit is None:
        return _("{verb} without a limit.").format(verb=verb)
    past = _("past its limit") if until > limit else _("within its limit")
    return f"{verb} {past}." + (_(" A small mark shows the planned moment.") if planned else "")
