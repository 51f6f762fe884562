"""Taking the records of some days away: as a bag that proves itself, or as plain tables."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, cast
from uuid import UUID

from django import forms
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.formats import number_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.exports.bag import file_name
from api.language import day_text, later
from api.pages.links import when
from api.pages.objections import objection
from api.pages.shell import Here, here, page, person_of, show
from api.public.addresses import address_of
from api.rest.problems import status_of
from api.rest.records import records_file
from protocols.hours import wall
from stock import access
from stock.doors.exports import Export, ask_for_bag
from stock.queries.audit import Span
from stock.queries.exports import KEPT, export_for, exports_of, is_there, path_of
from stock.refusals import NotFound, Refused

DAY = timedelta(days=1)
USUAL = timedelta(days=30)
MOST = timedelta(days=5 * 366)
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(9000, 1, 1)
STATES = {
    "waiting": later("Waits to be made; it begins within seconds."),
    "making": later("Is being made."),
    "ready": later("Ready."),
    "failed": later("Could not be made."),
    "ended": later("Its time is over; ask for it again."),
}


class DaysForm(forms.Form):
    """Days of the site's calendar, both included."""

    first = forms.DateField(
        label=later("First day"), widget=forms.DateInput(attrs={"type": "date"})
    )
    last = forms.DateField(
        label=later("Last day"), widget=forms.DateInput(attrs={"type": "date"})
    )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        first, last = given.get("first"), given.get("last")
        for name, day in (("first", first), ("last", last)):
            if day and not FIRST_DAY <= day <= LAST_DAY:
                self.add_error(name, _("There is no such day in these calendars."))
        if first and last and not first <= last <= first + MOST:
            self.add_error("last", _("At most five years, the first day first."))
        return given


@dataclass(frozen=True, slots=True)
class BagLine:
    """One bag as the page shows it."""

    export: Export
    days: str
    by: str
    asked: SafeString
    says: str
    size: str
    until: SafeString
    is_there: bool

    @property
    def is_coming(self) -> bool:
        return self.export.state in ("waiting", "making")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def taking_away(request: HttpRequest, site: UUID) -> HttpResponse:
    """The bags of this site, and the days for another one."""
    at = here(request, site, access.READERS)
    today = at.now.astimezone(at.zone).date()
    usual = {"first": today - USUAL, "last": today}
    form = DaysForm(request.POST or None, initial=usual)
    objections: list[Any] = []
    status = 400 if form.is_bound else 200
    if form.is_valid():
        begins, ends = _span(form, at)
        try:
            if "tables" in request.POST:
                row = access.export_from(at.person, site)
                file = records_file(Span(site, begins, ends, at.zone), row.name)
                return cast(HttpResponse, file)
            ask_for_bag(
                at.person,
                site=site,
                begins=begins,
                ends=ends,
                address=address_of(request),
                at=at.now,
            )
            return redirect("taking-away", site)
        except Refused as refused:
            objections = [objection(one) for one in refused.reasons]
            status = min(status_of(one.code) for one in refused.reasons)
    lines = [_line(one, at) for one in exports_of(site)]
    context = {
        "form": form,
        "objections": objections,
        "bags": lines,
        "coming": any(one.is_coming for one in lines),
    }
    return show(request, at, "taking_away", context, current="taking-away", status=status)


@page
@require_safe
def bag_file(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The bag itself, as long as it is kept."""
    row = export_for(person_of(request), uid)
    if not is_there(row):
        raise NotFound
    name = file_name(row.site.name, row.begins, row.ends)
    file = FileResponse(path_of(uid).open("rb"), as_attachment=True, filename=name)
    return cast(HttpResponse, file)


def _span(form: DaysForm, at: Here) -> tuple[datetime, datetime]:
    first, last = form.cleaned_data["first"], form.cleaned_data["last"]
    return wall(first, 0, at.zone), wall(last + DAY, 0, at.zone)


def _line(row: Export, at: Here) -> BagLine:
    first = row.begins.astimezone(at.zone).date()
    last = (row.ends - timedelta(seconds=1)).astimezone(at.zone).date()
    until = row.ready_at + KEPT if row.ready_at and row.state == "ready" else None
    return BagLine(
        export=row,
        days=_("{first} to {last}").format(first=day_text(first), last=day_text(last)),
        by=row.asked_by.name,
        asked=when(row.asked_at, at.zone),
        says=row.why or str(STATES[row.state]),
        size=number_format((row.size or 0) / 1_000_000, 1),
        until=when(until, at.zone),
        is_there=is_there(row),
    )
