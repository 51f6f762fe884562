"""Calls over REST: what one person was told, where they are called; rooms closed for people."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, person
from stock import access, clock
from stock.doors import calls as door
from stock.doors.rooms import close_room, closed_shown, open_room
from stock.doors.things import SORTS
from stock.queries.call_words import lines_of, title_of
from stock.queries.calls import CallSeen, addresses_of, calls_of


class ReadInput(Input):
    calls = serializers.ListField(child=inputs.Uid(), max_length=200, required=False)


class AddressInput(Input):
    # The name of the field is also that of an attribute of every serializer field.
    label = serializers.CharField(max_length=40)  # type: ignore[assignment]
    address = serializers.CharField(max_length=500, required=False, allow_null=True)
    test = serializers.BooleanField(default=False)


class NothingInput(Input):
    """Nothing but the common fields."""


class ClosureInput(Input):
    to = Moment(required=False, allow_null=True, default=None)
    why = serializers.CharField(max_length=400)

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        return {**super().get_fields(), "from": Moment(required=False)}


class CallsView(APIView):
    """What the person who asks was told at a site, the newest first, and how it went out."""

    def get(self, request: Request, site: UUID) -> Response:
        found = access.site_for(person(request), site)
        now = clock.now(site)
        seen = calls_of(person(request), site, now)
        return Response({"calls": [_shown(one, found) for one in seen], "as_of": now})


class CallsReadView(APIView):
    """They have been read: these, or without `calls` all of them."""

    given = ReadInput
    keyed = False
    versioned = False

    def put(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        calls = self.given.read(request).get("calls")
        read = door.mark_read(person(request), site=site, now=clock.now(site), calls=calls)
        return Response({"read": read})


class AddressesView(APIView):
    """Where the person who asks is called; the addresses themselves are never shown again."""

    given = AddressInput
    keyed = False
    versioned = False

    def get(self, request: Request) -> Response:
        return Response({"addresses": [_address(one) for one in addresses_of(person(request))]})

    def put(self, request: Request) -> Response:
        """Be called at this address under its label; without one, no more. `test` sends a
        message to what is there then."""
        door.put_address(person(request), now=clock.now(), **self.given.read(request))
        return self.get(request)


class ClosuresView(APIView):
    """The rooms of a site that are closed for people now."""

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response({"closed": closed_shown(site, clock.now(site))})


class RoomClosuresView(APIView):
    given = ClosureInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["rooms"].model, uid)
        said = self.given.read(request)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(
            close_room(
                asking, room=uid, begins=said.get("from"), ends=said["to"], why=said["why"]
            )
        )


class RoomOpeningsView(APIView):
    given = NothingInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), SORTS["rooms"].model, uid)
        self.given.read(request)
        return outputs.answered(open_room(inputs.asking(request, site.uid), room=uid))


def _shown(one: CallSeen, site: access.Site) -> dict[str, Any]:
    return {
        "uid": str(one.uid),
        "kind": one.kind,
        "title": title_of(one.kind, len(one.items)),
        "lines": lines_of(one.items, ZoneInfo(site.zone)),
        "notices": [{"kind": told.kind, **told.body} for told in one.items],
        "told_at": one.due_at,
        "read_at": one.read_at,
        "ways": [
            {
                "label": way.address.label,
                "state": way.state,
                "why": way.why or None,
                "tries": way.tries,
                "at": way.at,
            }
            for way in one.ways
        ],
    }


def _address(one: dict[str, Any]) -> dict[str, Any]:
    test = one["test"]
    return {
        **one,
        "uid": str(one["uid"]),
        "test": test and {"state": test.state, "why": test.why or None, "at": test.at},
    }


routes = [
    path("sites/<uuid:site>/calls", CallsView.as_view()),
    path("sites/<uuid:site>/calls/read", CallsReadView.as_view()),
    path("addresses", AddressesView.as_view()),
    path("sites/<uuid:site>/closures", ClosuresView.as_view()),
    path("rooms/<uuid:uid>/closures", RoomClosuresView.as_view()),
    path("rooms/<uuid:uid>/openings", RoomOpeningsView.as_view()),
]
