"""What a site decides for itself over REST: rules, hours, shifts, devices."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, person
from api.rest.moments import moment_in, moment_of
from stock import access
from stock.doors import sites
from stock.doors.sites import DeviceAsked
from stock.queries.sites import (
    device_shown,
    devices_listed,
    hours_shown,
    newest_seq,
    rules_shown,
    shifts_listed,
)
from stock.refusals import NotFound

ROWS_MOST = 400


class RulesInput(Input):
    rules = serializers.DictField()
    in_force_from = Moment(required=False)


class HoursInput(Input):
    weekly = serializers.ListField(child=serializers.DictField(), max_length=ROWS_MOST)
    exceptions = serializers.ListField(
        child=serializers.DictField(), max_length=ROWS_MOST, required=False, default=list
    )
    in_force_from = Moment(required=False)


class ShiftInput(Input):
    person = inputs.Uid()
    to = Moment()
    on_call = serializers.BooleanField(default=False)

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        return {**super().get_fields(), "from": Moment()}


class DeviceInput(Input):
    # The name of the field is also that of an attribute of every serializer field.
    label = serializers.CharField(max_length=40)  # type: ignore[assignment]
    ended_at = Moment(required=False, allow_null=True, default=None)


class RulesView(APIView):
    """The rules in force at a moment, and every version there was."""

    given = RulesInput
    queries = ("at",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        shown = rules_shown(site, moment_of(request, site))
        return outputs.tagged(shown, newest_seq("rules_set", site))

    def put(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        said = self.given.read(request)
        asking = inputs.asking(request, site)
        answer = sites.set_rules(
            asking,
            site=site,
            rules=said["rules"],
            in_force_from=said.get("in_force_from", asking.now),
            version=inputs.if_match(request),
        )
        return _tagged_anew(outputs.answered(answer), "rules_set", site)


class HoursView(APIView):
    """The staffed hours in force at a moment, and every version there was."""

    given = HoursInput
    queries = ("at",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        shown = hours_shown(site, moment_of(request, site))
        return outputs.tagged(shown, newest_seq("hours_set", site))

    def put(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        said = self.given.read(request)
        asking = inputs.asking(request, site)
        answer = sites.set_hours(
            asking,
            site=site,
            weekly=said["weekly"],
            exceptions=said["exceptions"],
            in_force_from=said.get("in_force_from", asking.now),
            version=inputs.if_match(request),
        )
        return _tagged_anew(outputs.answered(answer), "hours_set", site)


class ShiftsView(APIView):
    given = ShiftInput
    queries = ("from", "to")

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response(
            {
                "shifts": shifts_listed(
                    site, begins=moment_in(request, "from"), ends=moment_in(request, "to")
                )
            }
        )

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        said = self.given.read(request)
        return outputs.answered(
            sites.set_shift(
                inputs.asking(request, site),
                site=site,
                person=said["person"],
                begins=said["from"],
                ends=said["to"],
                on_call=said["on_call"],
            )
        )


class DevicesView(APIView):
    given = DeviceInput

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response({"devices": devices_listed(site)})

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        asking = inputs.asking(request, person(request).organisation)
        said = self.given.read(request)
        return outputs.answered(sites.set_device(asking, asked=DeviceAsked(site, **said)))


class DeviceView(APIView):
    given = DeviceInput

    def get(self, request: Request, uid: UUID) -> Response:
        found = self._found(request, uid)
        return outputs.tagged({"device": found}, found["version"])

    def put(self, request: Request, uid: UUID) -> Response:
        found = self._found(request, uid)
        asking = inputs.asking(request, person(request).organisation)
        asked = DeviceAsked(
            found["site"],
            uid=uid,
            version=inputs.if_match(request),
            **self.given.read(request),
        )
        return outputs.answered(sites.set_device(asking, asked=asked))

    @staticmethod
    def _found(request: Request, uid: UUID) -> dict[str, Any]:
        found = device_shown(uid)
        if found is None:
            raise NotFound
        access.site_for(person(request), found["site"])
        return found


def _tagged_anew(answer: Response, kind: str, site: UUID) -> Response:
    answer["ETag"] = f'"{newest_seq(kind, site)}"'
    return answer


routes = [
    path("sites/<uuid:site>/rules", RulesView.as_view()),
    path("sites/<uuid:site>/hours", HoursView.as_view()),
    path("sites/<uuid:site>/shifts", ShiftsView.as_view()),
    path("sites/<uuid:site>/devices", DevicesView.as_view()),
    path("devices/<uuid:uid>", DeviceView.as_view()),
]
