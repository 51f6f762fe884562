"""What an inspector reads on a visit: the reports that were opened for it, and nothing else."""

import tempfile
from datetime import timedelta
from typing import cast
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.exports.reports import write_exact
from api.pages.parts import PageLink
from api.pages.reports.asked import AskForm, Question
from api.pages.reports.files import FORMS, report_file
from api.pages.reports.reports import files, known_words
from api.pages.reports.shown import on_screen
from api.pages.reports.words import SAYS, TITLES
from api.public.answers import unlisted
from stock import clock
from stock.doors.visits import begin_visit, note_shown
from stock.queries.reports import REPORTS
from stock.queries.visits import VisitSeen, visit_by_link, visit_by_session
from stock.refusals import Refused

COOKIE = "fillmark_visit"


class VisitForm(AskForm):
    """Days within those of the visit, and one of its batches."""

    def __init__(self, request: HttpRequest, seen: VisitSeen) -> None:
        self.seen, zone = seen, ZoneInfo(seen.site.zone)
        self.least = seen.row.begins.astimezone(zone).date()
        self.most = (seen.row.ends - timedelta(seconds=1)).astimezone(zone).date()
        all_days = {"first": str(self.least), "last": str(self.most)}
        given = {name: value for name, value in request.GET.items() if value}
        now = clock.now(seen.site.uid)
        super().__init__({**all_days, **given}, site=seen.site.uid, zone=zone, now=now)

    def clean(self) -> dict[str, object]:
        given = super().clean()
        for name in ("first", "last"):
            day = given.get(name)
            if day is not None and not self.least <= day <= self.most:
                self.add_error(name, _("This visit is about other days."))
        allowed = self.seen.row.batches
        if given.get("of") and allowed and str(given["of"]) not in allowed:
            self.add_error("batch", _("There is no batch with this code here."))
        return given

    def question(self) -> Question:
        return self.within(super().question(), self.seen.row.batches)


@require_http_methods(["GET", "HEAD", "POST"])
def begin(request: HttpRequest, secret: str) -> HttpResponse:
    """What the link opens; pressing the key binds the visit to this browser."""
    seen = visit_by_link(secret)
    if seen is None or not seen.goes_on(clock.now(seen.site.uid)) or seen.row.begun_at:
        return _over(request)
    if request.method == "POST":
        try:
            own = begin_visit(seen.row, now=clock.now(seen.site.uid))
        except Refused:
            return _over(request)
        answer = redirect("visit")
        answer.set_cookie(
            COOKIE,
            own,
            max_age=int((seen.row.ends_at - clock.now(seen.site.uid)).total_seconds()),
            path=reverse("visit"),
            secure=settings.SESSION_COOKIE_SECURE,
            httponly=True,
            samesite="Strict",
        )
        return unlisted(answer)
    context = {"seen": seen, "zone": ZoneInfo(seen.site.zone)}
    return unlisted(render(request, "public/visit_begin.html", context))


@require_safe
def visit(request: HttpRequest) -> HttpResponse:
    """The reports that may be read."""
    seen = _seen(request)
    if seen is None:
        return _over(request)
    ways = [
        (PageLink(str(TITLES[name]), reverse("visit-report", args=[name])), SAYS[name])
        for name in REPORTS
        if name in seen.row.reports
    ]
    context = {"seen": seen, "ways": ways, "zone": ZoneInfo(seen.site.zone)}
    return unlisted(render(request, "public/visit.html", context))


@require_safe
def visit_report(request: HttpRequest, name: str) -> HttpResponse:
    """One report, within the limits of the visit; that it was shown is written down first."""
    seen = _seen(request)
    if seen is None or name not in seen.row.reports or name not in REPORTS:
        return _over(request)
    form = VisitForm(request, seen)
    context = {
        "seen": seen,
        "zone": ZoneInfo(seen.site.zone),
        "form": form,
        "title": TITLES[name],
        "says": SAYS[name],
    }
    if not form.is_valid():
        return unlisted(render(request, "public/visit_report.html", context, status=400))
    found = form.question()
    how = request.GET.get("as", "")
    if how not in FORMS or not seen.row.may_take:
        how = "screen"
    try:
        _note(seen, name, how, found)
        if how != "screen":
            file = report_file(how, REPORTS[name], found.asked, found.known, seen.site.name)
            return unlisted(cast(HttpResponse, file))
    except Refused as refused:
        form.add_error(None, str(refused))
        return unlisted(render(request, "public/visit_report.html", context, status=409))
    context |= {
        "shown": on_screen(REPORTS[name], found.asked, known_words(found)),
        "files": files(request) if seen.row.may_take else (),
    }
    return unlisted(render(request, "public/visit_report.html", context))


def _note(seen: VisitSeen, name: str, how: str, found: Question) -> None:
    with tempfile.TemporaryFile() as exact:
        digest = write_exact(REPORTS[name], found.asked, exact)
    note_shown(
        seen.row,
        report=name,
        how=how,
        asked=found.asked,
        sha256=digest,
        now=clock.now(seen.site.uid),
    )


def _seen(request: HttpRequest) -> VisitSeen | None:
    """The visit of this browser, while it goes on."""
    seen = visit_by_session(request.COOKIES.get(COOKIE))
    if seen is None or not seen.goes_on(clock.now(seen.site.uid)):
        return None
    return seen


def _over(request: HttpRequest) -> HttpResponse:
    """The same for what is over, was used, or never was."""
    return unlisted(render(request, "public/visit_over.html", status=404))
