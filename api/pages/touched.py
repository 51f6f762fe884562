"""What touched what on a day of the site; and by which ways something could have come."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import day_text
from api.pages.links import label, link, when
from api.pages.parts import PageLink, Table
from api.pages.pictures.touches import Arrow, touches_picture
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
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
        "heading": _("What touched what"),
        "day": day_text(day),
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
    yield PageLink(_("The day before"), f"{here_}?day={(day - DAY).isoformat()}")
    if day < today:
        yield PageLink(_("The day after"), f"{here_}?day={(day + DAY).isoformat()}")
    if at.works:
        yield PageLink(_("Something touched both"), reverse("tell-contact", args=[at.site.uid]))


def _arrow(one: Touch, at: Here) -> Arrow:
    time = one.at.astimezone(at.zone).strftime("%H:%M")
    way = f"{plain(one.way)} {one.thing[1]}" if one.thing else plain(one.way)
    return Arrow(one.begin.label, one.end.label, time, way, one.grade)


def _table(found: Iterable[Touch], at: Here) -> Table:
    return Table(
        _("The same as a list"),
        (_("When"), _("From"), _("To"), _("How"), _("How readily"), _("Done by")),
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
        empty=_("Nothing was told of that day."),
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
        "heading": _("What could have reached {batch}").format(batch=batch.code),
        "came": _exposed_table(_("By which ways something could have come"), found.came, at),
        "went": _exposed_table(_("Whom it could have reached"), found.went, at),
        "day": reverse("touched", args=[at.site.uid]),
    }
    return show(request, at, "exposures", context)


def _exposed_table(caption: str, found: Iterable[Exposed], at: Here) -> Table:
    return Table(
        caption,
        (
            _("When"),
            _("Batch or place"),
            _("How"),
            _("How readily"),
            _("What is known"),
            _("Question"),
        ),
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
        empty=_("Nothing is known."),
    )


def _stands(one: Exposed) -> str:
    if one.open:
        return _("to be looked at") if one.near else _("not decided")
    return (
        _("decided: {decided}").format(decided=plain(one.decided))
        if one.decided
        else _("closed")
    )


def _known(one: Exposed) -> str:
    """Distance, lids and air of the moment; nothing for a contact, where the way says it."""
    if one.near is None:
        return ""
    known = one.near
    lid = _("lid") if known["lid"] else _("no lid")
    air = _("air stone") if known["air_stone"] else _("no air stone")
    own = _("lid here") if known["own_lid"] else _("no lid here")
    return _("{metres} m apart; {lid} and {air} there; {own}").format(
        metres=known["metres"], lid=lid, air=air, own=own
    )


# -- Neighbours --------------------------------------------------------------------------------


@page
@require_safe
def neighbours(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Which containers stand near one, as the room is set up now."""
    row = container_head(uid)
    at = here(request, row.site_id)
    table = Table(
        _("Neighbours"),
        (_("Container"), _("Metres"), _("Lid"), _("Air stone")),
        [
            (
                link(one["label"], "container", one["uid"]),
                one["metres"],
                _("yes") if one["lid"] else _("no"),
                _("yes") if one["air_stone"] else _("no"),
            )
            for one in neighbours_shown(at.site.uid, uid, at.now)
        ],
        frozenset({1}),
        empty=_("Nothing else stands within that distance."),
    )
    return show(request, at, "neighbours", {"container": row, "table": table}, current="room")
