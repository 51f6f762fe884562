"""The reports that an inspector asks for, over REST: as data, or as the files of the pages."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http.response import HttpResponseBase
from django.urls import path
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.exports.reports import exact
from api.pages.reports.files import FORMS, report_file
from api.pages.reports.words import SAYS, TITLES
from api.rest.inputs import person
from api.rest.labels import Pdf
from api.rest.moments import day_in, known_by_of, span_of
from api.rest.outputs import Json, ProblemJson
from stock import access, clock
from stock.access import Site
from stock.queries.reports import REPORTS, Asked, Report
from stock.queries.reports.known import (
    Known,
    batch_by_code,
    known_by_entry,
    known_now,
    known_on,
    root_of,
)
from stock.refusals import Refused, refuse


class Csv(BaseRenderer):
    """Only so that a request for a table is not turned away; the answer is a file."""

    media_type = "text/csv"
    format = "csv"


class ReportsView(APIView):
    """Without `report` which reports there are; with it that report, as data or as a file."""

    renderer_classes = [Json, ProblemJson, Csv, Pdf]
    queries = ("report", "from", "to", "known_by", "known_on", "batch", "as")

    def get(self, request: Request, site: UUID) -> HttpResponseBase:
        row = access.site_for(person(request), site, access.READERS)
        name = request.query_params.get("report")
        if name is None:
            return Response({"reports": [_said(one) for one in REPORTS.values()]})
        if name not in REPORTS:
            text = "There is no such report."
            raise Refused(refuse("unreadable", text, pointer="/report", known=list(REPORTS)))
        known = _known(request, row)
        asked = _asked(request, row, known)
        how = request.query_params.get("as")
        if how is None:
            return Response(_shown(REPORTS[name], asked, known))
        if how not in FORMS:
            text = "There is no such form."
            raise Refused(refuse("unreadable", text, pointer="/as", known=list(FORMS)))
        access.export_from(person(request), site)
        return report_file(how, REPORTS[name], asked, known, row.name)


def _known(request: Request, site: Site) -> Known:
    """As of which entry: one by its position, the last of a day, or the newest."""
    position = known_by_of(request, site.uid)
    day = day_in(request, "known_on")
    if position is not None and day is not None:
        text = "Name an entry or a day, not both."
        raise Refused(refuse("unreadable", text, pointer="/known_on"))
    if position is not None:
        return known_by_entry(site.uid, position)
    now = clock.now(site.uid)
    if day is not None:
        return known_on(site.uid, day, ZoneInfo(site.zone), now)
    return known_now(site.uid, now)


def _asked(request: Request, site: Site, known: Known) -> Asked:
    begins, ends = span_of(request)
    batches: frozenset[UUID] = frozenset()
    if code := request.query_params.get("batch"):
        uid = batch_by_code(site.uid, code)
        if uid is None:
            text = "There is no batch with this code here."
            raise Refused(refuse("unreadable", text, pointer="/batch"))
        batches = frozenset({uid})
    zone = ZoneInfo(site.zone)
    return Asked(site.uid, zone, begins, ends, known.known_by, known.at, batches)


def _said(report: Report) -> dict[str, Any]:
    columns = [{"name": one.name, "sort": one.sort} for one in report.columns]
    return {
        "name": report.name,
        "title": str(TITLES[report.name]),
        "says": str(SAYS[report.name]),
        "columns": columns,
    }


def _shown(report: Report, asked: Asked, known: Known) -> dict[str, Any]:
    """Moments in UTC, elapsed times in seconds; which entry it speaks as of, and its root."""
    return {
        **_said(report),
        "from": asked.begins,
        "to": asked.ends,
        "known_by": known.known_by,
        "known_at": known.at,
        "root": root_of(asked.site, known.size),
        "rows": [[exact(cell) for cell in row] for row in report.rows(asked)],
    }


routes = [path("sites/<uuid:site>/reports", ReportsView.as_view())]
