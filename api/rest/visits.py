"""Visits of inspectors over REST: opened, listed, looked at, closed. They read on pages."""

from datetime import timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path, reverse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.public.addresses import address_of
from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, Moment, Uid, person
from stock import access
from stock.doors.visits import VisitAsked, close_visit, open_visit
from stock.queries.reports import REPORTS
from stock.queries.visits import visit_of, visit_shown, visits_shown

MOST = 20


class VisitInput(Input):
    """`hours` is how long it lasts, 72 at most; without `batches` the whole site."""

    visitor = serializers.CharField(max_length=80)
    authority = serializers.CharField(max_length=120, required=False)
    to = Moment()
    reports = serializers.ListField(
        child=serializers.ChoiceField(list(REPORTS)), min_length=1, max_length=len(REPORTS)
    )
    batches = serializers.ListField(child=Uid(), required=False, max_length=MOST)
    hours = Count()
    may_take = serializers.BooleanField(required=False)

    def get_fields(self) -> Any:
        # "from" is a word of the language.
        return {**super().get_fields(), "from": Moment()}


class VisitsView(APIView):
    given = VisitInput

    def get(self, request: Request, site: UUID) -> Response:
        row = access.site_for(person(request), site, access.MANAGERS)
        return Response({"visits": visits_shown(site, ZoneInfo(row.zone))})

    def post(self, request: Request, site: UUID) -> Response:
        """The answer says the `link` this once; asked again before it is used, another."""
        given = VisitInput.read(request)
        asked = VisitAsked(
            visitor=given["visitor"],
            authority=given.get("authority", ""),
            begins=given["from"],
            ends=given["to"],
            reports=given["reports"],
            batches=given.get("batches", ()),
            lasts=timedelta(hours=given["hours"]),
            may_take=given.get("may_take", False),
        )
        answer, secret = open_visit(inputs.asking(request, site), site=site, asked=asked)
        said = outputs.answered(answer)
        said.data["link"] = address_of(request) + reverse("begin-visit", args=[secret])
        return said


class VisitView(APIView):
    def get(self, request: Request, uid: UUID) -> Response:
        row = visit_of(uid)
        site = access.site_for(person(request), row.site, access.MANAGERS)
        return Response({"visit": visit_shown(row, ZoneInfo(site.zone))})


class ClosingInput(Input):
    """Nothing but the common fields."""


class VisitClosingView(APIView):
    given = ClosingInput

    def post(self, request: Request, uid: UUID) -> Response:
        ClosingInput.read(request)
        row = visit_of(uid)
        access.site_for(person(request), row.site)
        return outputs.answered(close_visit(inputs.asking(request, row.site), visit=uid))


routes = [
    path("sites/<uuid:site>/visits", VisitsView.as_view()),
    path("visits/<uuid:uid>", VisitView.as_view()),
    path("visits/<uuid:uid>/closing", VisitClosingView.as_view()),
]
