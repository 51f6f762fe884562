"""The room: water clocks on their racks as they stand."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.pages.links import label, link, when
from api.pages.parts import Table
from api.pages.pictures import Vessel
from api.pages.shell import here, page, show
from api.pages.words import plain
from api.templatetags.fillmark import figures
from stock.queries.room import Occupied, Standing, containers_standing

Racks = list[tuple[str, list[Vessel]]]


@page
@require_safe
def room(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site)
    standing = containers_standing(site, at.now)
    rooms = [
        (name, _racks(list(found), at.now))
        for name, found in groupby(standing, key=lambda one: one.room)
    ]
    context = {
        "rooms": rooms,
        "several": len(rooms) > 1,
        "says": _says(standing, at.now),
        "table": _table(standing, at.now, at.zone),
    }
    return show(request, at, "room", context, current="room")


def vessel(one: Standing, now: datetime) -> Vessel:
    """A container as it is drawn; the words beside it say the same."""
    there = one.occupied
    limit = there.limit if there else None
    began = there.began if there else now
    return Vessel(
        label=one.label,
        text=said(one, now),
        occupied=there is not None,
        elapsed_s=_seconds(now - began),
        limit_s=_seconds(limit - began) or 1 if limit else None,
        planned_s=_seconds(there.planned - began) if there and there.planned else None,
        state=one.state,
        href=address(one),
        tapered=one.tapered,
        x_m=one.x_m,
        z_m=one.z_m,
        width_m=one.width_m or 0.4,
        height_m=one.height_m or 0.4,
    )


def said(one: Standing, now: datetime) -> str:
    """The short line under a container: what is left, or its state."""
    there = one.occupied
    if there is None:
        return _("not seen dry") if one.state == "disinfected" else plain(one.state)
    if there.limit is None:
        return plain(there.state).removeprefix("in ")
    left = _signed(there.limit - now)
    return f"{figures(left)} {'over' if left < 0 else 'left'}"


def address(one: Standing) -> str:
    if one.occupied:
        return reverse("batch", args=[one.occupied.batch])
    return reverse("container", args=[one.uid])


def _racks(standing: Iterable[Standing], now: datetime) -> Racks:
    return [
        (label, [vessel(one, now) for one in found])
        for label, found in groupby(standing, key=lambda one: one.rack)
    ]


def _says(standing: Sequence[Standing], now: datetime) -> str:
    """The room in one sentence."""
    over = sum(_is_over(one.occupied, now) for one in standing)
    occupied = sum(one.occupied is not None for one in standing)
    ready = sum(one.state == "ready" for one in standing)
    text = _("{occupied} of {count} occupied, {ready} ready").format(
        occupied=occupied, count=len(standing), ready=ready
    )
    return _("{text}, {over} over the limit").format(text=text, over=over) if over else text


def _is_over(there: Occupied | None, now: datetime) -> bool:
    return there is not None and there.limit is not None and there.limit < now


def _table(standing: Sequence[Standing], now: datetime, zone: ZoneInfo) -> Table:
    return Table(
        _("The same as a list"),
        (_("Container"), _("Rack"), _("Batch"), _("State"), _("Until"), _("Kit")),
        [_row(one, now, zone) for one in standing],
    )


def _row(one: Standing, now: datetime, zone: ZoneInfo) -> tuple[object, ...]:
    there = one.occupied
    until = there.limit if there else one.ready_at if one.state == "drying" else None
    return (
        link(one.label, "container", one.uid),
        label(one.rack),
        link(there.code, "batch", there.batch) if there else "",
        said(one, now),
        when(until, zone),
        label(there and there.kit),
    )


def _seconds(span: timedelta) -> int:
    return max(0, _signed(span))


def _signed(span: timedelta) -> int:
    return int(span.total_seconds())
