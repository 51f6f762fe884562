"""How many of a species a container takes, before anybody is placed."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs
from api.rest.inputs import Count, Input, Number, person
from api.rest.moments import moment_of
from protocols.stocking_plan import Kind
from protocols.stocking_values import LENGTH_LEAST_CM, LENGTH_MOST_CM
from protocols.versions import DEFAULT, UnknownProtocol
from stock import access
from stock.doors.things import SORTS
from stock.queries.protocols import version_at
from stock.queries.sites import rules_history
from stock.queries.stocking import kind_asked, stocking_of
from stock.queries.stocking_shown import shown_stocking, shown_warning
from stock.refusals import NotFound, Refused, refuse


class StockingInput(Input):
    """The query, as if it were a body."""

    species = inputs.Uid(required=False, allow_null=True, default=None)
    name = serializers.CharField(max_length=120, required=False, default="")
    count = Count(required=False, default=1)
    length_cm = Number(max_length=12, required=False, allow_null=True, default=None)
    protocol = serializers.CharField(max_length=60, required=False, default=DEFAULT)
    arrival = serializers.BooleanField(required=False, default=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["species"] is None and not attrs["name"]:
            text = "Name a species by its uid, or by `name`."
            raise serializers.ValidationError({"species": [text]}, code="unreadable")
        return attrs

    def validate_length_cm(self, value: str | None) -> float | None:
        if value is None:
            return None
        length = float(value)
        if not LENGTH_LEAST_CM <= length <= LENGTH_MOST_CM:
            text = f"A length lies between {LENGTH_LEAST_CM:g} and {LENGTH_MOST_CM:g} cm."
            raise serializers.ValidationError(text, code="unreadable")
        return length


class StockingView(APIView):
    """What becomes of so many in this container until the limit, and how many fit."""

    queries = ("species", "name", "count", "length_cm", "protocol", "arrival", "at")

    def get(self, request: Request, uid: UUID) -> Response:
        row, site = access.thing_for(person(request), SORTS["containers"].model, uid)
        given = _asked(request)
        at = moment_of(request, site.uid)
        kind = _kind(request, given)
        try:
            version = version_at(site.uid, given["protocol"])
        except UnknownProtocol as error:
            text = "There is no such protocol."
            raise Refused(refuse("unreadable", text, pointer="/protocol")) from error
        found = stocking_of(
            [row],  # type: ignore[list-item]
            (kind,),
            rules=rules_history(site.uid).at(at),
            protocol=version,
            at=at,
            arrival=given["arrival"],
        )[uid]
        warnings = [shown_warning(one) for one in found.warnings]
        return Response({"stocking": shown_stocking(found), "warnings": warnings})


def _kind(request: Request, given: dict[str, Any]) -> Kind:
    """Of a species on record, or of one by its scientific name alone."""
    count, length = given["count"], given["length_cm"]
    if given["species"] is None:
        return Kind(given["name"], count, (), length, None if length is None else "asked")
    kind = kind_asked(person(request), given["species"], count, length)
    if kind is None:
        raise NotFound
    return kind


def _asked(request: Request) -> dict[str, Any]:
    query = request.query_params
    said: dict[str, Any] = {
        name: query[name] for name in StockingView.queries if name in query and name != "at"
    }
    if (count := said.get("count")) is not None and count.isascii() and count.isdigit():
        said["count"] = int(count[:9])
    given = StockingInput(data=said)
    given.is_valid(raise_exception=True)
    found: dict[str, Any] = given.validated_data
    return found


routes = [path("containers/<uuid:uid>/stocking", StockingView.as_view())]
