"""What touched what on a day of the site; and by which ways something could have come."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from api.pages.links import label, link, when
from api.pages.parts import PageLink, Table
from api.pages.pictures.touches import Arrow, touches_picture
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.clocks import DAYS, MONTHS
from stock.queries.batch_seen import batch_head
from stock.queries.equipment_seen import container_head
from stock.queries.exposed import Exposed, exposed
from stock.queries.neighbours import neighbours_shown
from stock.queries.touched import End, Touch, touched_on

DAY = timedelta(days=1)
FIRST, LAST = date(1900, 1, 1), date(9000, 1, 1)


@page
@require_safe
def touched(request: HttpRequest, site: UUID) -> HttpResponse:
    """A picture and its table; another day by the address."""
    at = here(request, site)
    today = at.now.astimezone(at.zone).date()
    day = _day(request.GET.get("day", ""), today)
    found = touched_on(at.site, day, at.now)
    context = {
        "heading": "What touched what",
        "day": f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}",
        "picture": touches_picture([_arrow(one, at) for one in found]),
        "table": _table(found, at),
        "ways": list(_ways(day, today, at)),
    }
    return show(request, at, "touched", context, current="room")


def _day(text: str, today: date) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return today
    return day if FIRST <= day <= LAST else today


def _ways(day: date, today: date, at: Here) -> Iterable[PageLink]:
    here_ = reverse("touched", args=[at.site.uid])
    yield PageLink("The day before", f"{here_}?day={(day - DAY).isoformat()}")
    if day < today:
        yield PageLink("The day after", f"{here_}?day={(day + DAY).isoformat()}")
    if at.works:
        yield PageLink("Something touched both", reverse("tell-contact", args=[at.site.uid]))


def _arrow(one: Touch, at: Here) -> Arrow:
    time = one.at.astimezone(at.zone).strftime("%H:%M")
    way = f"{plain(one.way)} {one.thing[1]}" if one.thing else plain(one.way)
    return Arrow(one.begin.label, one.end.label, time, way, one.grade)


def _table(found: Iterable[Touch], at: Here) -> Table:
    return Table(
        "The same as a list",
        ("When", "From", "To", "How", "How readily", "Done by"),
        [
            (
                when(one.at, at.zone),
                _end(one.begin),
                _end(one.end),
                f"{plain(one.way)}, {one.thing[1]}" if one.thing else plain(one.way),
                one.grade,
                one.doer[1],
            )
            for one in found
        ],
        empty="Nothing was told of that day.",
    )


def _end(one: End) -> SafeString:
    """The place, and who was there."""
    batches = [link(code, "batch", uid) for uid, code in one.batches if code != one.label]
    parts = format_html_join(", ", "{}", ((part,) for part in (label(one.label), *batches)))
    return format_html("<span>{}</span>", parts)


# -- By which ways something could have come ---------------------------------------------------


@page
@require_safe
def exposures(request: HttpRequest, uid: UUID) -> HttpResponse:
    """By which ways something could have reached a batch, and whom it could have reached."""
    batch = batch_head(uid)
    at = here(request, batch.site_id)
    found = exposed(batch)
    context: dict[str, Any] = {
        "batch": batch,
        "heading": f"What could have reached {batch.code}",
        "came": _exposed_table("By which ways something could have come", found.came, at),
        "went": _exposed_table("Whom it could have reached", found.went, at),
        "day": reverse("touched", args=[at.site.uid]),
    }
    return show(request, at, "exposures", context)


def _exposed_table(caption: str, found: Iterable[Exposed], at: Here) -> Table:
    return Table(
        caption,
        ("When", "Batch or place", "How", "How readily", "What is known", "Question"),
        [
            (
                when(one.at, at.zone),
                link(one.name, "batch", one.batch) if one.batch else label(one.name),
                plain(one.way),
                one.grade,
                _known(one),
                link(_stands(one), "question", one.question),
            )
            for one in found
        ],
        empty="Nothing is known.",
    )


def _stands(one: Exposed) -> str:
    if one.open:
        return "to be looked at" if one.near else "not decided"
    return f"decided: {plain(one.decided)}" if one.decided else "closed"


def _known(one: Exposed) -> str:
    """Distance, lids and air of the moment; nothing for a contact, where the way says it."""
    if one.near is None:
        return ""
    known = one.near
    lid = "lid" if known["lid"] else "no lid"
    air = "air stone" if known["air_stone"] else "no air stone"
    own = "lid here" if known["own_lid"] else "no lid here"
    return f"{known['metres']} m apart; {lid} and {air} there; {own}"


# -- Neighbours --------------------------------------------------------------------------------


@page
@require_safe
def neighbours(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Which containers stand near one, as the room is set up now."""
    row = container_head(uid)
    at = here(request, row.site_id)
    table = Table(
        "Neighbours",
        ("Container", "Metres", "Lid", "Air stone"),
        [
            (
                link(one["label"], "container", one["uid"]),
                one["metres"],
                "yes" if one["lid"] else "no",
                "yes" if one["air_stone"] else "no",
            )
            for one in neighbours_shown(at.site.uid, uid, at.now)
        ],
        frozenset({1}),
        empty="Nothing else stands within that distance.",
    )
    return show(request, at, "neighbours", {"container": row, "table": table}, current="room")
