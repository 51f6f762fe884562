"""Readings, instruments, rounds and daily care over REST."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, Number, person
from api.rest.kits import site_of
from api.rest.moments import known_by_of, moment_of
from api.rest.things import ThingView
from stock import access
from stock.doors import care, readings
from stock.doors.measured import Value
from stock.doors.readings import Comparison
from stock.doors.things import SORTS
from stock.queries.readings import container_readings, instrument_now

READINGS_MOST = 200


class ValueInput(Input):
    container = inputs.Uid()
    quantity = serializers.CharField(max_length=20)
    value = Number(max_length=20)
    unit = serializers.CharField(max_length=12)
    instrument = inputs.Uid(required=False, allow_null=True, default=None)
    method = serializers.CharField(max_length=60, required=False, allow_null=True)
    temperature_c = Number(max_length=12, required=False, allow_null=True)
    ph_scale = serializers.CharField(max_length=12, required=False, allow_null=True)
    reported_as = serializers.CharField(max_length=12, required=False, allow_null=True)
    performed_at = Moment(required=False)
    uid = inputs.Uid(required=False)


class ReadingsInput(Input):
    readings = serializers.ListField(child=ValueInput(), min_length=1, max_length=READINGS_MOST)


class CheckInput(Input):
    quantity = serializers.RegexField(r"^[a-z][a-z0-9_]{0,19}$", required=False, default=None)
    standard = serializers.CharField(max_length=40)
    expected = Number(max_length=20)
    got = Number(max_length=20)
    passed = serializers.BooleanField(default=True)


class ExceptionInput(Input):
    container = inputs.Uid()
    what = serializers.CharField(max_length=400)


class RoundInput(Input):
    room = inputs.Uid()
    looked_at = serializers.ListField(child=inputs.Uid(), max_length=2000)
    exceptions = ExceptionInput(many=True, required=False, default=list)
    ate = serializers.ListField(child=inputs.Uid(), max_length=2000, required=False)
    not_eating = serializers.ListField(child=inputs.Uid(), max_length=2000, required=False)
    not_all_seen = serializers.ListField(child=inputs.Uid(), max_length=2000, required=False)


class DoseInput(Input):
    product = serializers.CharField(max_length=120)
    amount = Number(max_length=12)
    unit = serializers.CharField(max_length=12)
    why = serializers.CharField(max_length=400, required=False)
    binds_ammonia = serializers.BooleanField(required=False)
    lot = serializers.CharField(max_length=60, required=False)
    expires = serializers.DateField(required=False)
    prescription = serializers.CharField(max_length=120, required=False)
    protocol = serializers.RegexField(r"^[a-z0-9-]{1,30}@[0-9]{1,8}$", required=False)


class FeedingInput(Input):
    food = serializers.CharField(max_length=120)
    amount_g = Number(max_length=12, required=False)
    eaten = serializers.ChoiceField(["all", "most", "some", "none"], required=False)


class FedInput(FeedingInput):
    container = inputs.Uid()


class FeedingsInput(Input):
    feedings = serializers.ListField(child=FedInput(), min_length=1, max_length=READINGS_MOST)


class WaterInput(Input):
    make = inputs.Uid()
    volume_l = Number(max_length=12)


class FillingInput(WaterInput):
    total_chlorine_mg_l = Number(max_length=12, required=False)


class TopUpInput(Input):
    make = inputs.Uid(required=False)
    volume_l = Number(max_length=12)


CARE: dict[str, type[Input]] = {
    "doses": DoseInput,
    "feedings": FeedingInput,
    "fillings": FillingInput,
    "water-changes": WaterInput,
    "top-ups": TopUpInput,
}


class ReadingsView(APIView):
    given = ReadingsInput

    def post(self, request: Request) -> Response:
        values = [Value(**one) for one in self.given.read(request)["readings"]]
        site = site_of(request, [one.container for one in values])
        return outputs.answered(
            readings.take_readings(inputs.asking(request, site), site=site, values=values)
        )


class ContainerReadingsView(APIView):
    """The newest readings in a container; `quantity` in the query leaves out others."""

    queries = ("quantity", "at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["containers"].model, uid)
        found = container_readings(
            uid,
            site=site.uid,
            quantity=request.query_params.get("quantity"),
            at=moment_of(request, site.uid),
            known_by=known_by_of(request, site.uid),
        )
        return Response({"readings": found})


class InstrumentView(ThingView):
    queries = ("at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        thing, site = access.thing_for(person(request), self.kind.model, uid)
        known_by = known_by_of(request, site.uid)
        found = instrument_now(uid, moment_of(request, site.uid), known_by=known_by)
        return outputs.tagged({"instrument": found}, thing.version)


class ChecksView(APIView):
    given = CheckInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["instruments"].model, uid)
        compared = Comparison(**self.given.read(request))
        asking = inputs.asking(request, site.uid)
        return outputs.answered(
            readings.check_instrument(asking, instrument=uid, compared=compared)
        )


class RoundsView(APIView):
    given = RoundInput

    def post(self, request: Request) -> Response:
        said = self.given.read(request)
        _, site = access.thing_for(person(request), SORTS["rooms"].model, said["room"])
        return outputs.answered(care.make_round(inputs.asking(request, site.uid), **said))


class FeedingsView(APIView):
    """One walk with food through many containers."""

    given = FeedingsInput

    def post(self, request: Request) -> Response:
        said = self.given.read(request)
        feedings = [_plain(dict(one)) for one in said["feedings"]]
        _, site = access.thing_for(
            person(request), SORTS["containers"].model, feedings[0]["container"]
        )
        asking = inputs.asking(request, site.uid)
        return outputs.answered(care.feed(asking, site=site.uid, feedings=feedings))


class CareView(APIView):
    """One sort of care for one container; the route says which."""

    care: ClassVar[str] = ""

    @property
    def given(self) -> type[Input]:
        return CARE[self.care]

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["containers"].model, uid)
        body = _plain(self.given.read(request))
        return outputs.answered(
            care.care_for(
                inputs.asking(request, site.uid), container=uid, care=self.care, body=body
            )
        )


def _plain(said: dict[str, Any]) -> dict[str, Any]:
    """The fact's body: dates as text."""
    return {
        name: value.isoformat() if name == "expires" else value for name, value in said.items()
    }


routes = [
    path("readings", ReadingsView.as_view()),
    path("rounds", RoundsView.as_view()),
    path("feedings", FeedingsView.as_view()),
    path("containers/<uuid:uid>/readings", ContainerReadingsView.as_view()),
    path("instruments/<uuid:uid>/checks", ChecksView.as_view()),
    *(path(f"containers/<uuid:uid>/{sort}", CareView.as_view(care=sort)) for sort in CARE),
]
