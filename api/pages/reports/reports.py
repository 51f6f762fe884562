"""The reports that an inspector asks for: which there are, one on screen, and its files."""

from typing import cast
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import local_text
from api.pages.parts import PageLink
from api.pages.reports.asked import AskForm, Question
from api.pages.reports.files import FORMS, report_file
from api.pages.reports.shown import on_screen
from api.pages.reports.words import SAYS, TITLES
from api.pages.shell import Here, here, page, show
from stock import access
from stock.queries.reports import REPORTS
from stock.refusals import NotFound


@page
@require_safe
def reports(request: HttpRequest, site: UUID) -> HttpResponse:
    """Every report there is, and the days they are to speak of."""
    at = here(request, site, access.READERS)
    form = _form(request, at)
    query = _query(request) if form.is_valid() else ""
    ways = [
        (PageLink(str(TITLES[name]), reverse("report", args=[site, name]) + query), SAYS[name])
        for name in REPORTS
    ]
    status = 200 if form.is_valid() else 400
    opens = reverse("visits", args=[site]) if at.manages else ""
    context = {"form": form, "ways": ways, "visits": opens}
    return show(request, at, "reports", context, current="reports", status=status)


@page
@require_safe
def report(request: HttpRequest, site: UUID, name: str) -> HttpResponse:
    """One report, or its file."""
    at = here(request, site, access.READERS)
    if name not in REPORTS:
        raise NotFound
    form = _form(request, at)
    found = form.question() if form.is_valid() else None
    how = request.GET.get("as", "")
    if found is not None and how in FORMS:
        access.export_from(at.person, site)
        file = report_file(how, REPORTS[name], found.asked, found.known, at.site.name)
        return cast(HttpResponse, file)  # a page may stream as well
    context = {
        "form": form,
        "title": TITLES[name],
        "says": SAYS[name],
        "back": reverse("reports", args=[site]) + _query(request),
    }
    if found is not None:
        context |= {
            "shown": on_screen(REPORTS[name], found.asked, known_words(found)),
            "files": files(request),
        }
    status = 200 if found is not None else 400
    return show(request, at, "report", context, current="reports", status=status)


def known_words(found: Question) -> str:
    """As of which entry the report speaks."""
    entry, zone = found.known.size, found.asked.zone
    if found.known.newest:
        return _("As known now, by entry {entry} of the record book.").format(entry=entry)
    return _("As it was known on {moment}, by entry {entry} of the record book.").format(
        moment=local_text(found.known.at, zone), entry=entry
    )


def files(request: HttpRequest) -> list[PageLink]:
    """The same report to take away."""
    words = {
        "pdf": _("On paper, to sign (PDF)"),
        "spreadsheet": _("For spreadsheets (CSV)"),
        "exact": _("Exact, for programs (CSV)"),
    }
    given = given_in(request)
    return [
        PageLink(text, f"{request.path}?{urlencode({**given, 'as': how})}")
        for how, text in words.items()
    ]


def _form(request: HttpRequest, at: Here) -> AskForm:
    return AskForm(request.GET, site=at.site.uid, zone=at.zone, now=at.now)


def _query(request: HttpRequest) -> str:
    given = given_in(request)
    return f"?{urlencode(given)}" if given else ""


def given_in(request: HttpRequest) -> dict[str, str]:
    """What the form asked, as typed."""
    return {name: str(request.GET[name]) for name in AskForm.base_fields if name in request.GET}
