"""Probes over REST: series and tables of values, and by what a gateway may send them."""

from dataclasses import dataclass
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, Moment, Number, person
from api.rest.tokens import TokenAuthentication
from stock import access, clock
from stock.access import Person
from stock.doors import probes
from stock.doors.readings import Series
from stock.doors.things import SORTS
from stock.queries.probes import probe_sender, probes_seen
from stock.refusals import NotFound

SERIES_MOST = 2000
TABLE_MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class ByDevice:
    """That a device sent it, and of which site it is."""

    site: UUID


class ProbeAuthentication(BaseAuthentication):
    """The text that a device was given: it sends values, and nothing else."""

    def authenticate(self, request: Request) -> tuple[Person, ByDevice] | None:
        kind, _, text = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer" or not text.strip().startswith(probes.PREFIX):
            return None
        found = probe_sender(text.strip(), clock.now())
        if found is None:
            raise AuthenticationFailed
        return found[0], ByDevice(found[1])

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"


BY_DEVICES = [ProbeAuthentication, TokenAuthentication, SessionAuthentication]


class SeriesInput(Input):
    probe = inputs.Uid()
    quantity = serializers.CharField(max_length=20)
    unit = serializers.CharField(max_length=12)
    start = Moment()
    step_s = Count()
    values = serializers.ListField(
        child=Number(max_length=12, allow_null=True), min_length=1, max_length=SERIES_MOST
    )
    ph_scale = serializers.CharField(max_length=12, required=False, allow_null=True)
    reported_as = serializers.CharField(max_length=12, required=False, allow_null=True)


class TableInput(Input):
    """A CSV table with the columns time, probe, container, quantity, unit, value."""

    csv = serializers.CharField(max_length=TABLE_MOST, trim_whitespace=False)


class TokenInput(Input):
    """With `end` the text there is ends, and no new one is made."""

    end = serializers.BooleanField(default=False)


class SeriesView(APIView):
    """Values of one probe in one container, evenly spaced; null where there is none."""

    authentication_classes = BY_DEVICES
    given = SeriesInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["containers"].model, uid)
        _is_of_its_site(request, site.uid)
        said = self.given.read(request)
        values = said.pop("values")
        series = Series(**said, values=())
        return outputs.answered(
            probes.take_series(
                inputs.asking(request, site.uid), container=uid, series=series, values=values
            )
        )


class ProbeValuesView(APIView):
    """Every probe of a site with its newest value; a table of values of any of them."""

    authentication_classes = BY_DEVICES
    given = TableInput

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        _is_of_its_site(request, site)
        return Response({"probes": [one.shown() for one in probes_seen(site, clock.now(site))]})

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        _is_of_its_site(request, site)
        text = self.given.read(request)["csv"]
        asking = inputs.asking(request, site)
        return outputs.answered(probes.take_table(asking, site=site, text=text))


class DeviceTokenView(APIView):
    """A new text by which the device sends values; shown this once, the old one ends."""

    given = TokenInput
    keyed = False
    versioned = False

    def put(self, request: Request, uid: UUID) -> Response:
        end = self.given.read(request)["end"]
        token = probes.make_token(person(request), device=uid, now=clock.now(), end=end)
        return Response({"token": token})


def _is_of_its_site(request: Request, site: UUID) -> None:
    """What a device of another site sends is as if that were not there."""
    if isinstance(request.auth, ByDevice) and request.auth.site != site:
        raise NotFound


routes = [
    path("containers/<uuid:uid>/reading-series", SeriesView.as_view()),
    path("sites/<uuid:site>/probe-values", ProbeValuesView.as_view()),
    path("devices/<uuid:uid>/token", DeviceTokenView.as_view()),
]
