"""The mixing room over REST: makes of water, salt, and which water went where."""

from typing import Any, ClassVar
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, Number, person
from api.rest.moments import moment_of
from stock import access
from stock.doors import mixing
from stock.doors.things import SORTS
from stock.queries.mixing import lots_seen, make_seen, makes_seen, shown_lot, shown_make
from stock.queries.shared_water import makes_of_batch, reached_by
from stock.queries.water_needs import needs_seen, shown_needs


class MakeInput(Input):
    vat = serializers.CharField(max_length=60)
    lot = inputs.Uid(required=False)
    salt_lot = serializers.CharField(max_length=60, required=False)
    salt_kg = Number(max_length=12, required=False)
    volume_l = Number(max_length=12)
    volume_basis = serializers.ChoiceField(["final", "source_water"], required=False)
    salinity = Number(max_length=12)
    temperature_c = Number(max_length=12)
    total_chlorine_mg_l = Number(max_length=12)
    aerated_since = Moment(required=False)
    mixed_at = Moment(required=False)


class MakeCheckInput(Input):
    volume_l = Number(max_length=12, required=False)
    salinity = Number(max_length=12, required=False)
    temperature_c = Number(max_length=12, required=False)
    total_chlorine_mg_l = Number(max_length=12, required=False)


class SaltInput(Input):
    mass_kg = Number(max_length=12)


class MakesView(APIView):
    """The makes of a site as they stand, with what stands against fish in each."""

    given = MakeInput
    queries = ("at",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        found = makes_seen(site, moment_of(request, site))
        return Response({"makes": [shown_make(one) for one in found]})

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        body = self.given.read(request)
        return outputs.answered(
            mixing.make_water(inputs.asking(request, site), site=site, body=body)
        )


class MakeView(APIView):
    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        _, site = access.make_for(person(request), uid)
        return Response({"make": shown_make(make_seen(uid, moment_of(request, site.uid)))})


class MakeChecksView(APIView):
    given = MakeCheckInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.make_for(person(request), uid)
        body = self.given.read(request)
        return outputs.answered(
            mixing.check_make(inputs.asking(request, site.uid), make=uid, body=body)
        )


class ReachedView(APIView):
    """Every container filled from a make, and every batch that its water was with."""

    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        _, site = access.make_for(person(request), uid)
        return Response(reached_by(uid, moment_of(request, site.uid)))


class BatchMakesView(APIView):
    """Every make whose water was with a batch, or with those it came out of."""

    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        _, site = access.batch_for(person(request), uid)
        return Response({"makes": makes_of_batch(uid, moment_of(request, site.uid))})


class WaterStockView(APIView):
    """Salt and water as they stand: what is left of each lot and of each make."""

    queries = ("at",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        at = moment_of(request, site)
        return Response(
            {
                "salt": [shown_lot(one) for one in lots_seen(site, at)],
                "water": [shown_make(one) for one in makes_seen(site, at)],
            }
        )


class NeedsView(APIView):
    """Litres and kilos for each of the next days, what of it is short, and baths to be made."""

    queries = ("at",)

    def get(self, request: Request, site: UUID) -> Response:
        row = access.site_for(person(request), site)
        at, zone = moment_of(request, site), ZoneInfo(row.zone)
        makes, lots = makes_seen(site, at), lots_seen(site, at)
        return Response(shown_needs(needs_seen(site, at, zone, makes=makes, lots=lots)))


class SaltView(APIView):
    """Salt of a lot that came, or all that is there of it; the route says which."""

    given = SaltInput
    what: ClassVar[str] = ""

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["salt-lots"].model, uid)
        said: dict[str, Any] = self.given.read(request)
        return outputs.answered(
            mixing.weigh_salt(inputs.asking(request, site.uid), lot=uid, what=self.what, **said)
        )


routes = [
    path("sites/<uuid:site>/makes", MakesView.as_view()),
    path("sites/<uuid:site>/water-stock", WaterStockView.as_view()),
    path("sites/<uuid:site>/water-needs", NeedsView.as_view()),
    path("makes/<uuid:uid>", MakeView.as_view()),
    path("makes/<uuid:uid>/checks", MakeChecksView.as_view()),
    path("makes/<uuid:uid>/reached", ReachedView.as_view()),
    path("batches/<uuid:uid>/makes", BatchMakesView.as_view()),
    path("salt-lots/<uuid:uid>/deliveries", SaltView.as_view(what="received")),
    path("salt-lots/<uuid:uid>/stock-counts", SaltView.as_view(what="counted")),
]
