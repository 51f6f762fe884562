"""Losses, missing and found animals, counts, births, over REST."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, Moment, person
from api.rest.moments import then_of
from protocols.kinds.counts import FATES
from stock import access
from stock.doors.counts import (
    count_batch,
    find_again,
    presume_lost,
    record_birth,
    record_missing,
)
from stock.doors.losses import LossLine, record_losses
from stock.queries.as_of import balances_then
from stock.queries.counts import missing_for

LINES_MOST = 100
CAUSE_LEVELS = 2
COUNTS_MOST = 10


class LossInput(Input):
    """One batch: how many, gone which way, found when. Absent, they were found as reported."""

    uid = inputs.Uid(required=False)
    batch = inputs.Uid()
    fate = serializers.ChoiceField(FATES)
    count = Count()
    cause = serializers.ListField(
        child=serializers.CharField(max_length=60), max_length=CAUSE_LEVELS, default=list
    )
    certainty = serializers.RegexField(r"^[a-z_]{1,12}$", required=False)
    found_at = Moment(required=False)
    last_seen_at = Moment(required=False, allow_null=True)
    origin = serializers.ListField(child=inputs.Uid(), max_length=20, required=False)
    incident = inputs.Uid(required=False, allow_null=True)
    method = serializers.CharField(max_length=200, required=False)
    authority = serializers.CharField(max_length=200, required=False)


class LossesInput(Input):
    # The stubs know the options of a list only where it is built by hand.
    lines = LossInput(many=True, allow_empty=False, max_length=LINES_MOST)  # type: ignore[call-arg]


class LossesView(APIView):
    """Several batches in one request: all of the losses are recorded, or none."""

    given = LossesInput

    def post(self, request: Request) -> Response:
        lines = LossesInput.read(request)["lines"]
        site = access.site_of_batch(person(request), lines[0]["batch"], access.HANDS)
        asking = inputs.asking(request, site.uid)
        told = [_line(one, asking.performed_at) for one in lines]
        return outputs.answered(record_losses(asking, lines=told))


def _line(given: dict[str, Any], performed_at: Any) -> LossLine:
    listed = {name: tuple(given.get(name, ())) for name in ("cause", "origin")}
    return LossLine(**{"found_at": performed_at, **given, **listed})


class MissingInput(Input):
    count = Count()
    container = inputs.Uid(required=False)


class MissingView(APIView):
    given = MissingInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = MissingInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(record_missing(asking, batch=uid, **given))


class FindingInput(Input):
    count = Count()
    container = inputs.Uid()
    alive = serializers.BooleanField()


class FindingsView(APIView):
    given = FindingInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = FindingInput.read(request)
        _, site = missing_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(find_again(asking, missing=uid, **given))


class PresumptionInput(Input):
    count = Count()


class PresumptionsView(APIView):
    given = PresumptionInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = PresumptionInput.read(request)
        _, site = missing_for(person(request), uid, access.MANAGERS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(presume_lost(asking, missing=uid, **given))


class CountsInput(Input):
    """Every count typed in this attempt, the last one last."""

    counts = serializers.ListField(child=Count(least=0), min_length=1, max_length=COUNTS_MOST)


class CountsView(APIView):
    given = CountsInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = CountsInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(count_batch(asking, batch=uid, counts=given["counts"]))


class BirthInput(Input):
    count = Count()
    estimated = serializers.BooleanField(default=False)


class BirthsView(APIView):
    given = BirthInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = BirthInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(record_birth(asking, batch=uid, **given))


class BalancesView(APIView):
    """Where the animals of every batch are, or were at a moment, by what was known."""

    queries = ("at", "known_by")

    def get(self, request: Request, site: UUID) -> Response:
        here = access.site_for(person(request), site)
        return Response(balances_then(here, then_of(request, site)))


routes = [
    path("sites/<uuid:site>/balances", BalancesView.as_view()),
    path("losses", LossesView.as_view()),
    path("batches/<uuid:uid>/missing", MissingView.as_view()),
    path("missing/<uuid:uid>/findings", FindingsView.as_view()),
    path("missing/<uuid:uid>/presumptions", PresumptionsView.as_view()),
    path("batches/<uuid:uid>/counts", CountsView.as_view()),
    path("batches/<uuid:uid>/births", BirthsView.as_view()),
]
