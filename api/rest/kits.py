"""Equipment over REST: what was done to it, what it is fitted to, and whether it is ready."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, Number, person
from api.rest.moments import known_by_of, moment_of
from api.rest.things import ThingView
from protocols.values import DryingRule
from protocols.versions import DEFAULT, UnknownProtocol
from stock import access, clock
from stock.doors import fittings, kits
from stock.doors.fittings import Fitting
from stock.doors.kits import Disinfection
from stock.doors.things import SORTS
from stock.queries.kits import equipment_state, site_of_equipment
from stock.queries.protocols import version_at
from stock.queries.things import shown
from stock.refusals import Refused, refuse

SUBJECTS_MOST = 500


class SubjectsInput(Input):
    subjects = serializers.ListField(child=inputs.Uid(), min_length=1, max_length=SUBJECTS_MOST)


class DisinfectionInput(SubjectsInput):
    cleaned = serializers.BooleanField()
    agent = serializers.CharField(max_length=60)
    mg_per_l = Number(max_length=12, required=False, allow_null=True, default=None)
    measured = serializers.BooleanField(default=False)
    started_at = Moment()
    ended_at = Moment()
    rinsed = serializers.BooleanField(default=False)
    neutralised = serializers.BooleanField(required=False, allow_null=True, default=None)


class WetInput(SubjectsInput):
    contradicts = inputs.Uid(required=False, allow_null=True, default=None)


class FittingInput(Input):
    kit = inputs.Uid(required=False, allow_null=True, default=None)
    container = inputs.Uid(required=False, allow_null=True, default=None)
    replaces = inputs.Uid(required=False, allow_null=True, default=None)
    replaced_is_defective = serializers.BooleanField(default=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["kit"] is None and attrs["container"] is None:
            text = "Say into which kit or container it goes."
            raise serializers.ValidationError({"kit": [text]}, code="unreadable")
        return attrs


class DefectInput(Input):
    what = serializers.CharField(max_length=400)


class EmptyingInput(Input):
    searched = serializers.BooleanField(default=False)


class EquipmentView(ThingView):
    """A piece, kit or container with its state at a moment, by a protocol's drying rule."""

    queries = ("at", "known_by", "protocol")

    def get(self, request: Request, uid: UUID) -> Response:
        thing, site = access.thing_for(person(request), self.kind.model, uid)
        state = equipment_state(
            thing,
            zone=ZoneInfo(site.zone),
            drying=drying_of(request, site.uid),
            at=moment_of(request, site.uid),
            now=clock.now(site.uid),
            known_by=known_by_of(request, site.uid),
        )
        body = {self.kind.name: shown(self.kind.model, uid), **state}
        return outputs.tagged(body, thing.version)


class DisinfectionsView(APIView):
    given = DisinfectionInput

    def post(self, request: Request) -> Response:
        said = self.given.read(request)
        subjects = said.pop("subjects")
        site = site_of(request, subjects)
        return outputs.answered(
            kits.disinfect(
                inputs.asking(request, site),
                site=site,
                subjects=subjects,
                done=Disinfection(**said),
            )
        )


class DrySightingsView(APIView):
    given = SubjectsInput

    def post(self, request: Request) -> Response:
        subjects = self.given.read(request)["subjects"]
        site = site_of(request, subjects)
        return outputs.answered(
            kits.see_dry(inputs.asking(request, site), site=site, subjects=subjects)
        )


class WetFindingsView(APIView):
    given = WetInput

    def post(self, request: Request) -> Response:
        said = self.given.read(request)
        site = site_of(request, said["subjects"])
        return outputs.answered(kits.find_wet(inputs.asking(request, site), site=site, **said))


class FittingsView(APIView):
    given = FittingInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["pieces"].model, uid)
        fitting = Fitting(piece=uid, **self.given.read(request))
        return outputs.answered(
            fittings.fit_piece(inputs.asking(request, site.uid), fitting=fitting)
        )


class DefectsView(APIView):
    given = DefectInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["pieces"].model, uid)
        said = self.given.read(request)
        return outputs.answered(
            fittings.mark_defective(inputs.asking(request, site.uid), piece=uid, **said)
        )


class EmptyingsView(APIView):
    given = EmptyingInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["containers"].model, uid)
        said = self.given.read(request)
        return outputs.answered(
            kits.empty_container(inputs.asking(request, site.uid), container=uid, **said)
        )


def site_of(request: Request, subjects: list[UUID]) -> UUID:
    """The site of all these subjects, if the asker may work there."""
    return access.site_for(person(request), site_of_equipment(subjects), access.HANDS).uid


def drying_of(request: Request, site: UUID) -> DryingRule:
    """The drying rule of `protocol` in the query, else of the default protocol."""
    try:
        return version_at(site, request.query_params.get("protocol", DEFAULT)).drying
    except UnknownProtocol as error:
        text = "There is no such protocol."
        raise Refused(refuse("unreadable", text, pointer="/protocol")) from error


routes = [
    path("disinfections", DisinfectionsView.as_view()),
    path("dry-sightings", DrySightingsView.as_view()),
    path("wet-findings", WetFindingsView.as_view()),
    path("pieces/<uuid:uid>/fittings", FittingsView.as_view()),
    path("pieces/<uuid:uid>/defects", DefectsView.as_view()),
    path("containers/<uuid:uid>/emptyings", EmptyingsView.as_view()),
]
