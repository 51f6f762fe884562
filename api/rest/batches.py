"""Batches over REST: placed, moved, shown, and whether a move may be made."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, Number, person
from api.rest.moments import moment_of, site_in, then_of
from api.rest.problems import shown_reason
from api.rest.readings import ValueInput
from protocols.kinds.batches import AROUND
from stock import access
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.measured import Value
from stock.doors.moves import MoveAsked, may_move_now, move_batch
from stock.doors.things import SORTS
from stock.queries.batch_lists import batch_history, batch_now, batch_page

COUNTS_MOST = 10
THINGS_MOST = 20
BESIDE_MOST = 4


class FromInput(Input):
    line = inputs.Uid()
    count = Count()


class PlaceInput(Input):
    # "from" is a word of the language.
    container = inputs.Uid()
    kit = inputs.Uid(required=False, allow_null=True, default=None)
    stay = inputs.Uid(required=False, allow_null=True, default=None)
    counts = serializers.ListField(child=Count(least=0), min_length=1, max_length=COUNTS_MOST)
    protocol = serializers.RegexField(r"^[a-z0-9-]+@[0-9]+$", default="transfer-288@1")

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "from": FromInput(many=True, allow_empty=False)}


class ReadingsField(serializers.Field[Any, Any, Any, Any]):
    """Uids of readings there are, or new ones."""

    def to_internal_value(self, data: Any) -> list[Any]:
        if not isinstance(data, list) or len(data) > 20:
            raise serializers.ValidationError("A list of readings.", code="unreadable")
        uid = inputs.Uid()
        return [
            uid.run_validation(one) if isinstance(one, str) else self._new(one) for one in data
        ]

    @staticmethod
    def _new(data: Any) -> Value:
        given = ValueInput(data=data)
        given.is_valid(raise_exception=True)
        return Value(**given.validated_data)


class CarriedInput(Input):
    """What came along from the container that was left: water, and things by name."""

    water_ml = Number(max_length=12, required=False)
    things = serializers.ListField(
        child=serializers.CharField(max_length=60), required=False, max_length=THINGS_MOST
    )

    def validate_water_ml(self, value: str) -> str:
        if Decimal(value) < 0:
            raise serializers.ValidationError("It is 0 mL or more.", code="unreadable")
        return value


class MoveInput(Input):
    ended_stay = inputs.Uid()
    to_container = inputs.Uid()
    kit = inputs.Uid(required=False, allow_null=True, default=None)
    stay = inputs.Uid(required=False, allow_null=True, default=None)
    counts = serializers.ListField(child=Count(least=0), min_length=1, max_length=COUNTS_MOST)
    missing = Count(least=0, required=False, default=0)
    searched = serializers.BooleanField(required=False, allow_null=True, default=None)
    readings = ReadingsField(required=False, default=list)
    carried = CarriedInput(required=False)
    around = serializers.ListField(
        child=serializers.ChoiceField(AROUND), required=False, max_length=len(AROUND)
    )

    def get_fields(self) -> dict[str, Any]:
        beside = serializers.ListField(
            child=inputs.Uid(), required=False, max_length=BESIDE_MOST
        )
        return {**super().get_fields(), "with": beside}


class BatchesView(APIView):
    given = PlaceInput
    queries = ("site", "state", "after", "at", "known_by")

    def get(self, request: Request) -> Response:
        site = site_in(request)
        return Response(
            batch_page(
                person(request),
                site=request.query_params.get("site"),
                state=request.query_params.get("state"),
                after=request.query_params.get("after"),
                at=moment_of(request, site),
                then=then_of(request, site),
            )
        )

    def post(self, request: Request) -> Response:
        given = PlaceInput.read(request)
        container, site = access.thing_for(
            person(request), SORTS["containers"].model, given["container"], access.HANDS
        )
        asked = PlaceAsked(
            sources=tuple((one["line"], one["count"]) for one in given["from"]),
            container=container.uid,
            kit=given["kit"],
            counts=tuple(given["counts"]),
            protocol=given["protocol"],
            stay=given["stay"],
        )
        return outputs.answered(
            place_batch(inputs.asking(request, site.uid), site=site, asked=asked)
        )


class BatchView(APIView):
    queries = ("at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        batch, site = access.batch_for(person(request), uid)
        at = moment_of(request, site.uid)
        return Response({"batch": batch_now(batch, at, then_of(request, site.uid))})


class HistoryView(APIView):
    queries = ("after", "at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        batch, site = access.batch_for(person(request), uid)
        after = request.query_params.get("after")
        at, then = moment_of(request, site.uid), then_of(request, site.uid)
        return Response(batch_history(batch, at=at, after=after, then=then))


def _move_asked(request: Request, uid: UUID) -> MoveAsked:
    given = MoveInput.read(request)
    return MoveAsked(
        batch=uid,
        ended_stay=given["ended_stay"],
        container=given["to_container"],
        kit=given["kit"],
        counts=tuple(given["counts"]),
        missing=given["missing"],
        searched=given["searched"],
        readings=tuple(given["readings"]),
        stay=given["stay"],
        carried=given.get("carried") or {},
        beside=tuple(given.get("with", ())),
        around=tuple(given.get("around", ())),
    )


class MovesView(APIView):
    given = MoveInput

    def post(self, request: Request, uid: UUID) -> Response:
        site = access.site_of_batch(person(request), uid, access.HANDS)
        asked = _move_asked(request, uid)
        return outputs.answered(
            move_batch(inputs.asking(request, site.uid), site=site, asked=asked)
        )


class MoveChecksView(APIView):
    """Would this move be allowed? Changes nothing."""

    given = MoveInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.batch_for(person(request), uid, access.HANDS)
        reasons = may_move_now(
            inputs.asking(request, site.uid), site=site, asked=_move_asked(request, uid)
        )
        shown = [shown_reason(one) for one in reasons]
        return Response(
            {
                "allowed": not any(one.blocks for one in reasons),
                "reasons": shown,
                "instead": [one for reason in shown for one in reason["instead"]],
            }
        )


routes = [
    path("batches", BatchesView.as_view()),
    path("batches/<uuid:uid>", BatchView.as_view()),
    path("batches/<uuid:uid>/history", HistoryView.as_view()),
    path("batches/<uuid:uid>/moves", MovesView.as_view()),
    path("batches/<uuid:uid>/move-checks", MoveChecksView.as_view()),
]
