"""The record book and the records of a site over REST."""

import tempfile
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import FileResponse, HttpResponse
from django.urls import path
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.exports.tables import write_records
from api.rest.inputs import person
from api.rest.moments import known_by_of, span_of
from api.rest.outputs import Json, ProblemJson
from protocols.spreadsheets import safe_file_name
from stock import access
from stock.queries.audit import Span
from stock.queries.late import late_months, late_shown
from stock.queries.ledger import PAGE_MOST, entries_page, signed_checkpoint
from stock.queries.notices import notices_page
from stock.queries.tree_proofs import (
    book_of,
    checkpoints_page,
    consistency_shown,
    inclusion_shown,
    inclusion_text,
)
from stock.refusals import Refused, refuse


class Zip(BaseRenderer):
    """Only so that a request for a zip is not turned away; the answer is a file."""

    media_type = "application/zip"
    format = "zip"


class LedgerView(APIView):
    queries = ("after", "limit")

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.READERS)
        after = _whole(request, "after", default=-1)
        limit = _whole(request, "limit", default=PAGE_MOST)
        return Response(entries_page(site, after=after, limit=max(limit, 1)))


class CheckpointView(APIView):
    def get(self, request: Request, site: UUID) -> HttpResponse:
        access.site_for(person(request), site, access.READERS)
        note = signed_checkpoint(site)
        return HttpResponse(note, content_type="text/plain; charset=utf-8")


class TlogProof(BaseRenderer):
    """Only so that a proof may be asked for as text, which is made below."""

    media_type = "text/plain"
    format = "txt"


class InclusionView(APIView):
    """That an entry stands in the record book, as data or as c2sp.org/tlog-proof text."""

    renderer_classes = [Json, ProblemJson, TlogProof]
    queries = ("size",)

    def get(self, request: Request, uid: UUID) -> HttpResponse:
        log = book_of(uid)
        access.site_for(person(request), log, access.READERS)
        shown = inclusion_shown(log, uid, _size(request, "size"))
        if getattr(request.accepted_renderer, "format", "") == "txt":
            text = inclusion_text(shown)
            return HttpResponse(text, content_type="text/plain; charset=utf-8")
        return Response(shown)


class ConsistencyView(APIView):
    """That the record book only ever grew: its first entries begin the later ones."""

    queries = ("older", "size")

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.READERS)
        older = _whole(request, "older", default=0)
        return Response(consistency_shown(site, older, _size(request, "size")))


class CheckpointsView(APIView):
    """Every page that was sealed, on a timetable and after each certificate."""

    queries = ("after",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.READERS)
        return Response(checkpoints_page(site, after=_whole(request, "after", default=0)))


class NoticesView(APIView):
    queries = ("after",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response(notices_page(site, after=_whole(request, "after", default=0)))


class RecordsView(APIView):
    renderer_classes = [Json, ProblemJson, Zip]
    queries = ("from", "to")

    def get(self, request: Request, site: UUID) -> FileResponse:
        row = access.export_from(person(request), site)
        return records_file(Span(site, *span_of(request), ZoneInfo(row.zone)), row.name)


class LateEntriesView(APIView):
    """What was recorded in a span and was told late: by person and month."""

    queries = ("from", "to", "known_by")

    def get(self, request: Request, site: UUID) -> Response:
        zone = ZoneInfo(access.site_for(person(request), site, access.READERS).zone)
        begins, ends = span_of(request)
        found = late_months(site, zone, begins, ends, known_by=known_by_of(request, site))
        return Response({"from": begins, "to": ends, "people": late_shown(found, zone)})


def records_file(span: Span, name: str) -> FileResponse:
    """The zip as a download; it is written to a file of its own first."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  # the answer closes it
    write_records(span, file)
    file.seek(0)
    days = f"{span.begins:%Y-%m-%d}-{span.ends:%Y-%m-%d}"
    return FileResponse(
        file,
        as_attachment=True,
        filename=safe_file_name(f"records-{name}-{days}", ".zip"),
        content_type="application/zip",
    )


def _whole(request: Request, name: str, *, default: int) -> int:
    text = request.query_params.get(name)
    if text is None:
        return default
    if not text.removeprefix("-").isdecimal() or len(text) > 18:
        raise Refused(refuse("not_whole", "Type a whole number.", pointer=f"/{name}"))
    return int(text)


def _size(request: Request, name: str) -> int | None:
    """A size of the record book that was named; None for as it is now."""
    return _whole(request, name, default=0) if name in request.query_params else None


routes = [
    path("sites/<uuid:site>/ledger", LedgerView.as_view()),
    path("sites/<uuid:site>/ledger/checkpoint", CheckpointView.as_view()),
    path("sites/<uuid:site>/ledger/checkpoints", CheckpointsView.as_view()),
    path("sites/<uuid:site>/ledger/consistency", ConsistencyView.as_view()),
    path("facts/<uuid:uid>/inclusion", InclusionView.as_view()),
    path("sites/<uuid:site>/notices", NoticesView.as_view()),
    path("sites/<uuid:site>/records", RecordsView.as_view()),
    path("sites/<uuid:site>/late-entries", LateEntriesView.as_view()),
]
