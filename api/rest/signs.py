"""Signs, incidents, contacts, and holds, over REST."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, person
from api.rest.moments import day_of, known_by_of, moment_of
from protocols.kinds.readings import WAYS
from stock import access, clock
from stock.doors.signs import (
    lift_hold,
    place_hold,
    record_contact,
    record_incident,
    record_sign,
    site_of_named,
)
from stock.doors.things import SORTS
from stock.queries.counts import hold_for
from stock.queries.neighbours import neighbours_shown
from stock.queries.touched import touched_on

SIGNS_MOST = 20
CONTAINERS = SORTS["containers"].model


class SignInput(Input):
    signs = serializers.ListField(
        child=serializers.CharField(max_length=100), min_length=1, max_length=SIGNS_MOST
    )
    affected = Count()


class SignsView(APIView):
    given = SignInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = SignInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(record_sign(asking, batch=uid, **given))


class IncidentInput(Input):
    batch = inputs.Uid(required=False, default=None)
    container = inputs.Uid(required=False, default=None)
    kind = serializers.RegexField(r"^[a-z][a-z0-9_]{0,31}$")
    what = serializers.DictField(default=dict)
    container_unsure = serializers.BooleanField(default=False)


class IncidentsView(APIView):
    given = IncidentInput

    def post(self, request: Request) -> Response:
        given = IncidentInput.read(request)
        named = [uid for uid in (given["batch"], given["container"]) if uid is not None]
        site = site_of_named(person(request), named)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(record_incident(asking, **given))


class ContactInput(Input):
    to = inputs.Uid()
    way = serializers.ChoiceField(WAYS)
    thing = inputs.Uid(required=False, default=None)

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        return {"from": inputs.Uid(), **super().get_fields()}


class ContactsView(APIView):
    given = ContactInput

    def post(self, request: Request) -> Response:
        given = ContactInput.read(request)
        begin, end = given["from"], given["to"]
        site = site_of_named(person(request), [begin, end])
        answer = record_contact(
            inputs.asking(request, site.uid),
            begin=begin,
            end=end,
            way=given["way"],
            thing=given["thing"],
        )
        return outputs.answered(answer)


class NeighboursView(APIView):
    """Which containers stand near this one, at a moment."""

    queries = ("at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), CONTAINERS, uid)
        at = moment_of(request, site.uid)
        known_by = known_by_of(request, site.uid)
        near = neighbours_shown(site.uid, uid, at, known_by=known_by)
        return Response({"containers": near})


class SiteContactsView(APIView):
    """What touched what on a day of the site, as its wall clock reads it; else today."""

    queries = ("day", "known_by")

    def get(self, request: Request, site: UUID) -> Response:
        row = access.site_for(person(request), site)
        now = clock.now(row.uid)
        day = day_of(request) or now.astimezone(ZoneInfo(row.zone)).date()
        found = touched_on(row, day, now, known_by=known_by_of(request, row.uid))
        zone = ZoneInfo(row.zone)
        return Response(
            {"day": day.isoformat(), "contacts": [one.shown(zone) for one in found]}
        )


class WhyInput(Input):
    why = serializers.CharField(max_length=1000)


class HoldsView(APIView):
    given = WhyInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = WhyInput.read(request)
        _, site = access.batch_for(person(request), uid, access.DECIDERS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(place_hold(asking, batch=uid, why=given["why"]))


class LiftingsView(APIView):
    given = WhyInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = WhyInput.read(request)
        _, site = hold_for(person(request), uid, access.DECIDERS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(lift_hold(asking, hold=uid, why=given["why"]))


routes = [
    path("batches/<uuid:uid>/signs", SignsView.as_view()),
    path("incidents", IncidentsView.as_view()),
    path("contacts", ContactsView.as_view()),
    path("sites/<uuid:site>/contacts", SiteContactsView.as_view()),
    path("containers/<uuid:uid>/neighbours", NeighboursView.as_view()),
    path("batches/<uuid:uid>/holds", HoldsView.as_view()),
    path("holds/<uuid:uid>/liftings", LiftingsView.as_view()),
]
