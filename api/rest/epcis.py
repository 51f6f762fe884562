"""The records of a span as EPCIS 2.0 JSON-LD over REST."""

from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import StreamingHttpResponse
from django.urls import path
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.views import APIView

from api.exports.epcis import MEDIA_TYPE, documents
from api.rest.inputs import person
from api.rest.moments import known_by_of, span_of
from api.rest.outputs import Json, ProblemJson
from stock import access
from stock.queries.audit import Span
from stock.queries.ledger import size_of


class LinkedData(BaseRenderer):
    """Only so that a request for linked data is not turned away; the answer is a stream."""

    media_type = MEDIA_TYPE
    format = "jsonld"


class EpcisView(APIView):
    """Everything that happened in a span, as events that other systems can read."""

    renderer_classes = [Json, ProblemJson, LinkedData]
    queries = ("from", "to", "known_by")

    def get(self, request: Request, site: UUID) -> StreamingHttpResponse:
        row = access.export_from(person(request), site)
        span = Span(site, *span_of(request), ZoneInfo(row.zone))
        known_by = known_by_of(request, site)
        size = size_of(site) if known_by is None else known_by + 1
        (document,) = documents(site, span, size)
        answer = StreamingHttpResponse(document.lines(), content_type=MEDIA_TYPE)
        answer["Content-Disposition"] = f'attachment; filename="{document.name}"'
        return answer


routes = [path("sites/<uuid:site>/epcis", EpcisView.as_view())]
