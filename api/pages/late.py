"""What was told late, a month at a time: who, how late, why, and who confirmed it."""

import re
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import later
from api.pages.links import when
from api.pages.parts import PageLink, Table
from api.pages.sentences import sentence
from api.pages.shell import Here, here, page, show
from protocols.clocks import elapsed_text
from protocols.hours import wall
from protocols.late import LateEntry, LateMonth
from stock import access
from stock.queries.late import late_months, people_of
from stock.queries.told import names_in

MONTH = re.compile(r"(20\d\d)-(0[1-9]|1[0-2])", re.ASCII)
COLUMNS = (
    later("What was told"),
    later("It happened"),
    later("Told"),
    later("Late by"),
    later("Why only then"),
    later("Confirmed by"),
)


@page
@require_safe
def late(request: HttpRequest, site: UUID) -> HttpResponse:
    """Every person's late entries of one month, by when they were recorded."""
    at = here(request, site, access.READERS)
    first = _month(request.GET.get("month", ""), at)
    following = (first + timedelta(days=31)).replace(day=1)
    found = late_months(site, at.zone, _midnight(first, at.zone), _midnight(following, at.zone))
    names = people_of(found)
    what = names_in(entry.fact.body for one in found for entry in one.entries)
    context = {
        "month": date_format(first, "F Y"),
        "says": _says(found),
        "tables": [_table(one, names, what, at) for one in found],
        "ways": _ways(site, first, following, at),
    }
    return show(request, at, "late_entries", context, current="record-book")


def _month(text: str, at: Here) -> date:
    """The first day of the month asked for, else of this one."""
    if (found := MONTH.fullmatch(text)) is None:
        return at.now.astimezone(at.zone).date().replace(day=1)
    return date(int(found[1]), int(found[2]), 1)


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return wall(day, 0, zone)


def _says(found: tuple[LateMonth, ...]) -> str:
    entries = [entry for one in found for entry in one.entries]
    if not entries:
        return _("Nothing was told late.")
    waiting = sum(one.waits for one in entries)
    return _("{count} told late").format(count=len(entries)) + (
        _(", {waiting} of them not yet confirmed").format(waiting=waiting) if waiting else ""
    )


def _table(one: LateMonth, names: dict[UUID, str], what: dict[str, str], at: Here) -> Table:
    longest = elapsed_text(one.longest)
    return Table(
        _("{person}: {count}, at most {longest} late").format(
            person=names.get(one.person, _("Somebody")), count=len(one.entries), longest=longest
        ),
        COLUMNS,
        [_row(entry, names, what, at) for entry in one.entries],
    )


def _row(
    one: LateEntry, names: dict[UUID, str], what: dict[str, str], at: Here
) -> tuple[object, ...]:
    fact = one.fact
    text = sentence(
        fact.kind, fact.body, lambda uid: what.get(str(uid), _("something")), at.units
    )
    more = _(", and {facts} more").format(facts=one.facts - 1) if one.facts > 1 else ""
    return (
        text + more + (_(", taken back since") if one.withdrawn else ""),
        when(fact.performed_at, at.zone),
        when(one.told_at, at.zone),
        elapsed_text(one.gap),
        fact.reason or "",
        _confirmed(one, names),
    )


def _confirmed(one: LateEntry, names: dict[UUID, str]) -> str:
    if one.confirmed:
        return ", ".join(names.get(said.by, _("somebody")) for said in one.confirmed)
    return _("nobody yet; until then its time is in doubt") if one.waits else ""


def _ways(site: UUID, first: date, following: date, at: Here) -> list[PageLink]:
    """To the month before and, unless that is still to come, to the one after."""
    address = reverse("late-entries", args=[site])
    before = (first - timedelta(days=1)).replace(day=1)
    today = at.now.astimezone(at.zone).date()
    months = [before, following] if following <= today else [before]
    return [PageLink(date_format(one, "F Y"), f"{address}?month={one:%Y-%m}") for one in months]
