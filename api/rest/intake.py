"""Consignments, deliveries and counts out of the bags over REST."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, Moment, Number, person
from protocols.intake import BoxCounted, BoxListed
from stock import access, clock
from stock.doors import intake as doors
from stock.queries import intake as queries

MARK_MOST = 60
TEXT_MOST = 200
LINES_MOST = 500
BOXES_MOST = 100


class BoxInput(Input):
    box = serializers.CharField(max_length=MARK_MOST)
    listed = Count(least=0, required=False, allow_null=True, default=None)


class BoxesField(serializers.Field[Any, Any, Any, Any]):
    """The boxes of a line: their names, or names with how many are listed in each."""

    def to_internal_value(self, data: Any) -> tuple[BoxListed, ...]:
        if not isinstance(data, list) or len(data) > BOXES_MOST:
            raise serializers.ValidationError("A list of boxes.", code="unreadable")
        given = BoxInput(
            data=[one if isinstance(one, dict) else {"box": one} for one in data], many=True
        )
        given.is_valid(raise_exception=True)
        return tuple(BoxListed(**one) for one in given.validated_data)


class LineInput(Input):
    species = inputs.Uid(required=False, allow_null=True, default=None)
    text = serializers.CharField(
        max_length=TEXT_MOST, required=False, allow_null=True, default=None
    )
    listed = Count()
    boxes = BoxesField(default=())

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        if not (given["species"] or given["text"]):
            raise serializers.ValidationError({"species": ["Name a species or a text."]})
        return given


class ConsignmentInput(Input):
    supplier = inputs.Uid()
    waybill = serializers.CharField(
        max_length=MARK_MOST, required=False, allow_null=True, default=None
    )
    lines = serializers.ListField(child=LineInput(), allow_empty=False, max_length=LINES_MOST)


class DeliveryInput(Input):
    delivered_at = Moment()


class CountInput(Input):
    box = serializers.CharField(
        max_length=MARK_MOST, required=False, allow_null=True, default=None
    )
    received = Count(least=0)
    doa = Count(least=0, default=0)
    wrong_species = Count(least=0, default=0)
    length_cm = Number(max_length=12, required=False, allow_null=True, default=None)


class MatchInput(Input):
    species = inputs.Uid()


class ConsignmentsView(APIView):
    given = ConsignmentInput
    queries = ("after",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        after = request.query_params.get("after")
        uid = None if after is None else inputs.Uid().run_validation(after)
        return Response(queries.consignment_page(site, after=uid))

    def post(self, request: Request, site: UUID) -> Response:
        given = ConsignmentInput.read(request)
        lines = tuple(doors.LineAsked(**line) for line in given.pop("lines"))
        asked = inputs.asking(request, site)
        return outputs.answered(doors.enter_consignment(asked, site=site, lines=lines, **given))


class ConsignmentView(APIView):
    def get(self, request: Request, uid: UUID) -> Response:
        found, site = doors.consignment_for(person(request), uid)
        at = clock.now(site.uid)
        return Response({"consignment": queries.consignment_shown(found.uid, at)})


class DeliveriesView(APIView):
    given = DeliveryInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = doors.consignment_for(person(request), uid)
        given = DeliveryInput.read(request)
        asked = inputs.asking(request, site.uid)
        return outputs.answered(
            doors.deliver_consignment(asked, uid=uid, delivered_at=given["delivered_at"])
        )


class CountsView(APIView):
    given = CountInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = doors.line_for(person(request), uid)
        given = CountInput.read(request)
        length_cm = given.pop("length_cm")
        return outputs.answered(
            doors.count_line(
                inputs.asking(request, site.uid),
                uid=uid,
                count=BoxCounted(**given),
                length_cm=length_cm,
            )
        )


class ReversalInput(Input):
    count = Count()
    evidence = serializers.CharField(max_length=2000)


class DoaReversalsView(APIView):
    """Counted dead on arrival, and alive after all."""

    given = ReversalInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = doors.line_for(person(request), uid)
        given = ReversalInput.read(request)
        asked = inputs.asking(request, site.uid)
        return outputs.answered(doors.reverse_doa(asked, uid=uid, **given))


class LineSpeciesView(APIView):
    given = MatchInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = doors.line_for(person(request), uid)
        given = MatchInput.read(request)
        asked = inputs.asking(request, site.uid)
        return outputs.answered(doors.match_line(asked, uid=uid, species=given["species"]))


routes = [
    path("sites/<uuid:site>/consignments", ConsignmentsView.as_view()),
    path("consignments/<uuid:uid>", ConsignmentView.as_view()),
    path("consignments/<uuid:uid>/deliveries", DeliveriesView.as_view()),
    path("lines/<uuid:uid>/counts", CountsView.as_view()),
    path("lines/<uuid:uid>/doa-reversals", DoaReversalsView.as_view()),
    path("lines/<uuid:uid>/species", LineSpeciesView.as_view()),
]
