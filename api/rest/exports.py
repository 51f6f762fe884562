"""Audit bags over REST: asked for, looked at, fetched."""

from typing import Any
from uuid import UUID

from django.http import FileResponse
from django.urls import path
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.exports.bag import file_name
from api.public.addresses import address_of
from api.rest.inputs import Input, Moment, person
from api.rest.moments import refuse_no_span
from api.rest.outputs import Json, ProblemJson
from api.rest.records import Zip
from stock import access, clock
from stock.doors.exports import ask_for_bag
from stock.queries.exports import export_for, exports_of, is_there, path_of, shown_export
from stock.refusals import NotFound


class SpanInput(Input):
    to = Moment()

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        return {**super().get_fields(), "from": Moment()}


class ExportsView(APIView):
    """Those asked for last; or ask for another, which is then made beside the requests."""

    given = SpanInput
    keyed = False

    def get(self, request: Request, site: UUID) -> Response:
        access.export_from(person(request), site)
        return Response({"exports": [shown_export(one) for one in exports_of(site)]})

    def post(self, request: Request, site: UUID) -> Response:
        given = SpanInput.read(request)
        begins, ends = given["from"], given["to"]
        access.export_from(person(request), site)
        refuse_no_span(begins, ends)
        row = ask_for_bag(
            person(request),
            site=site,
            begins=begins,
            ends=ends,
            address=address_of(request),
            at=clock.now(site),
        )
        return Response({"export": shown_export(row)}, status=202)


class ExportView(APIView):
    """How far it is, or where its file lies."""

    def get(self, request: Request, uid: UUID) -> Response:
        return Response({"export": shown_export(export_for(person(request), uid))})


class ExportFileView(APIView):
    """The zip, as long as it is kept."""

    renderer_classes = [Json, ProblemJson, Zip]

    def get(self, request: Request, uid: UUID) -> FileResponse:
        row = export_for(person(request), uid)
        if not is_there(row):
            raise NotFound
        return FileResponse(
            path_of(uid).open("rb"),
            as_attachment=True,
            filename=file_name(row.site.name, row.begins, row.ends),
            content_type="application/zip",
        )


routes = [
    path("sites/<uuid:site>/exports", ExportsView.as_view()),
    path("exports/<uuid:uid>", ExportView.as_view()),
    path("exports/<uuid:uid>/file", ExportFileView.as_view()),
]
