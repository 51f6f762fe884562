"""A manager opens a visit for an inspector, sees what was shown, and closes it."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.language import later
from api.pages.asking import asking, send
from api.pages.fields import Count, Several, Words
from api.pages.links import link, when
from api.pages.parts import Action, Table
from api.pages.pictures.codes import qr
from api.pages.reports.asked import DAY, FIRST_DAY, LAST_DAY, SPAN_MOST
from api.pages.reports.codes import batches_typed
from api.pages.reports.words import TITLES
from api.pages.set_up_forms import SetUp
from api.pages.shell import Here, here, new_key, page, show
from api.public.addresses import address_of
from protocols.hours import wall
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.visits import VisitAsked, close_visit, open_visit
from stock.queries.reports import REPORTS
from stock.queries.visits import visit_of, visit_shown, visits_shown
from stock.refusals import Refused

HOURS_MOST = 72


class VisitForm(SetUp):
    """Who comes, and what they may see. Days are those of the site's calendar."""

    visitor = Words(most=80, label=later("Who comes? Their name"))
    authority = Words(most=120, required=False, label=later("From which authority?"))
    first = forms.DateField(
        label=later("First day"), widget=forms.DateInput(attrs={"type": "date"})
    )
    last = forms.DateField(
        label=later("Last day"), widget=forms.DateInput(attrs={"type": "date"})
    )
    reports = Several(
        [(name, TITLES[name]) for name in REPORTS], label=later("Which reports may they see?")
    )
    batches = Words(
        required=False,
        label=later("Only of these batches, by their codes"),
        help_text=later("With commas between. Left empty: the whole site."),
    )
    hours = Count(initial=8, label=later("For how many hours?"))
    may_take = forms.BooleanField(
        required=False, label=later("They may take files away as well")
    )

    def clean_batches(self) -> list[UUID]:
        return batches_typed(self.at.site.uid, self.cleaned_data["batches"])

    def clean_hours(self) -> int:
        hours = int(self.cleaned_data["hours"])
        if hours > HOURS_MOST:
            raise forms.ValidationError(_("A visit lasts 72 hours at most."))
        return hours

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        first, last = given.get("first"), given.get("last")
        for name, day in (("first", first), ("last", last)):
            if day is not None and not FIRST_DAY <= day <= LAST_DAY:
                self.add_error(name, _("There is no such day in these calendars."))
        if first and last and not first <= last <= first + SPAN_MOST:
            self.add_error("last", _("At most five years, the first day first."))
        return given

    def asked(self) -> VisitAsked:
        given = self.cleaned_data
        return VisitAsked(
            visitor=given["visitor"].strip(),
            authority=given["authority"].strip(),
            begins=wall(given["first"], 0, self.at.zone),
            ends=wall(given["last"] + DAY, 0, self.at.zone),
            reports=given["reports"],
            batches=given["batches"],
            lasts=timedelta(hours=given["hours"]),
            may_take=given["may_take"],
        )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def visits(request: HttpRequest, site: UUID) -> HttpResponse:
    """Every visit there was, and the form that opens one; its link is shown this once."""
    at = here(request, site, access.MANAGERS)
    form = VisitForm(request.POST or None, at=at, initial=_usual(at))
    secrets: list[str] = []

    def door(asked: Asking) -> Answered:
        answer, secret = open_visit(asked, site=site, asked=form.asked())
        secrets.append(secret)
        return answer

    if (answer := send(request, form, door)) is not None:
        address = address_of(request) + reverse("begin-visit", args=[secrets[0]])
        context = {
            "name": form.cleaned_data["visitor"],
            "address": address,
            "picture": qr(address, title=_("The link as a QR code")),
            "back": reverse("visit-record", args=[answer.body["visit"]["uid"]]),
        }
        return show(request, at, "visit_link", context, current="reports")
    context = {
        "form": form,
        "table": _visits(visits_shown(site, at.zone), at),
        "back": reverse("reports", args=[site]),
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "visits", context, current="reports", status=status)


@page
@require_safe
def visit_record(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What was opened, and everything that was shown."""
    row = visit_of(uid)
    at = here(request, row.site, access.MANAGERS)
    shown = visit_shown(row, at.zone)
    end = Action(_("End this visit"), reverse("close-visit", args=[uid]), new_key())
    context = {
        "visit": shown,
        "reports": [TITLES.get(name, name) for name in shown["reports"]],
        "table": _pages(shown, at),
        "end": None if row.closed_at else end,
        "back": reverse("visits", args=[row.site]),
    }
    return show(request, at, "visit_record", context, current="reports")


@page
@require_POST
def close(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Nothing more is shown from now on."""
    row = visit_of(uid)
    at = here(request, row.site, access.MANAGERS)
    try:
        close_visit(asking(request, at), visit=uid)
        messages.success(request, _("The visit is closed."))
    except Refused as refused:
        messages.warning(request, str(refused))
    return redirect("visit-record", uid)


def _usual(at: Here) -> dict[str, object]:
    today: date = at.now.astimezone(at.zone).date()
    return {
        "first": str(today - timedelta(days=365)),
        "last": str(today),
        "reports": list(REPORTS),
    }


def _visits(found: list[dict[str, Any]], at: Here) -> Table:
    rows = [
        (
            link(one["visitor"] or _("name erased"), "visit-record", one["uid"]),
            one["authority"] or "",
            when(one["opened_at"], at.zone),
            one["opened_by_name"] or "",
            when(one["ends_at"], at.zone),
            when(one["closed_at"], at.zone),
        )
        for one in found
    ]
    columns = (
        _("Who came"),
        _("Authority"),
        _("Opened"),
        _("By"),
        _("Open until"),
        _("Closed"),
    )
    return Table(_("Visits"), columns, rows, empty=_("There was none yet."))


def _pages(shown: Mapping[str, Any], at: Here) -> Table:
    hows = {
        "screen": _("on screen"),
        "pdf": _("on paper"),
        "spreadsheet": _("file for spreadsheets"),
        "exact": _("exact file"),
    }
    rows = [
        (
            one["n"],
            when(one["at"], at.zone),
            TITLES.get(one["report"], one["report"]),
            hows.get(one["how"], one["how"]),
            when(one["from"], at.zone),
            when(one["to"], at.zone),
            one["known_by"] + 1,
        )
        for one in shown["pages"]
    ]
    columns = (
        _("No."),
        _("When"),
        _("What"),
        _("How"),
        _("From"),
        _("To"),
        _("As known by entry"),
    )
    numeric = frozenset({0, 6})
    return Table(_("What was shown"), columns, rows, numeric, _("Nothing was shown yet."))
