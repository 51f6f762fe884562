"""Suppliers and species over REST: known to the whole organisation."""

import re
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, person
from protocols.list_dates import ORDERS
from protocols.list_numbers import SIGNS
from protocols.list_words import FIELD_NAMES, IGNORE
from stock.doors import suppliers as doors
from stock.packing_lists import fits_an_entry
from stock.queries import suppliers as queries
from stock.refusals import NotFound

APHIA_ID_MAX = 100_000_000
CLAIM_WINDOW_MAX_S = 30 * 86_400
CLAIM_KINDS_MOST = 20
CLAIM_KINDS = re.compile(r"[a-z][a-z_]{0,31}")


class Names(serializers.ListField):
    """A short list of names; an entry of the ledger must hold all of them."""

    def __init__(self, *, most: int, **options: Any) -> None:
        child = serializers.CharField(max_length=120)
        super().__init__(child=child, max_length=most, **options)


class AphiaId(serializers.Field[Any, Any, Any, Any]):
    """The number of a name in the World Register of Marine Species."""

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            raise serializers.ValidationError("Type a whole number.", code="not_whole")
        if not 1 <= data <= APHIA_ID_MAX:
            raise serializers.ValidationError("This is no AphiaID.", code="not_positive")
        return data


class Mapped(serializers.DictField):
    """From the heading of a column to what it holds."""

    def __init__(self, **options: Any) -> None:
        child = serializers.ChoiceField([*FIELD_NAMES, IGNORE])
        super().__init__(child=child, **options)

    def to_internal_value(self, data: Any) -> dict[str, str]:
        read: dict[str, str] = super().to_internal_value(data)
        if not fits_an_entry(read):
            raise serializers.ValidationError("Too many headings.", code="too_large")
        return read


class ClaimTerms(serializers.Field[Any, Any, Any, Any]):
    """Kinds of claims and within how many seconds of the delivery each is taken."""

    def to_internal_value(self, data: Any) -> dict[str, int]:
        if not isinstance(data, Mapping) or len(data) > CLAIM_KINDS_MOST:
            raise serializers.ValidationError("Kinds and their seconds.", code="unreadable")
        faults = {
            str(kind): ["This is no time."]
            for kind, seconds in data.items()
            if not self._fits(kind, seconds)
        }
        if faults:
            raise serializers.ValidationError(faults, code="unreadable")
        return dict(data)

    @staticmethod
    def _fits(kind: Any, seconds: Any) -> bool:
        whole = isinstance(seconds, int) and not isinstance(seconds, bool)
        named = isinstance(kind, str) and CLAIM_KINDS.fullmatch(kind) is not None
        return named and whole and 1 <= seconds <= CLAIM_WINDOW_MAX_S


class SupplierInput(Input):
    name = serializers.CharField(max_length=120)
    date_order = serializers.ChoiceField([*ORDERS], required=False, allow_null=True)
    decimal = serializers.ChoiceField([*SIGNS], required=False, allow_null=True)
    mapping = Mapped(required=False)
    claim_terms = ClaimTerms(required=False)


class SpeciesInput(Input):
    scientific_name = serializers.CharField(max_length=120)
    aphia_id = AphiaId(required=False, allow_null=True)
    groups = Names(most=20, default=list)
    trade_names = Names(most=80, default=list)


class SuppliersView(APIView):
    given = SupplierInput

    def get(self, request: Request) -> Response:
        return Response({"suppliers": queries.suppliers_listed(person(request))})

    def post(self, request: Request) -> Response:
        given = SupplierInput.read(request)
        asked = inputs.asking(request, person(request).organisation)
        name = given.pop("name")
        return outputs.answered(doors.make_supplier(asked, name=name, settings=given))


class SupplierView(APIView):
    given = SupplierInput

    def get(self, request: Request, uid: UUID) -> Response:
        found = queries.supplier_of(person(request), uid)
        if found is None:
            raise NotFound
        return outputs.tagged({"supplier": queries.supplier_shown(uid)}, found.version)

    def put(self, request: Request, uid: UUID) -> Response:
        given = SupplierInput.read(request)
        asked = inputs.asking(request, person(request).organisation)
        name, version = given.pop("name"), inputs.if_match(request)
        return outputs.answered(
            doors.change_supplier(asked, uid=uid, version=version, name=name, settings=given)
        )


class SpeciesListView(APIView):
    given = SpeciesInput

    def get(self, request: Request) -> Response:
        return Response({"species": queries.species_listed(person(request))})

    def post(self, request: Request) -> Response:
        given = SpeciesInput.read(request)
        asked = inputs.asking(request, person(request).organisation)
        return outputs.answered(doors.make_species(asked, body=given))


class SpeciesView(APIView):
    given = SpeciesInput

    def get(self, request: Request, uid: UUID) -> Response:
        found = queries.species_of(person(request), uid)
        if found is None:
            raise NotFound
        return outputs.tagged({"species": queries.species_shown(uid)}, found.version)

    def put(self, request: Request, uid: UUID) -> Response:
        given = SpeciesInput.read(request)
        asked = inputs.asking(request, person(request).organisation)
        return outputs.answered(
            doors.change_species(asked, uid=uid, version=inputs.if_match(request), body=given)
        )


routes = [
    path("suppliers", SuppliersView.as_view()),
    path("suppliers/<uuid:uid>", SupplierView.as_view()),
    path("species", SpeciesListView.as_view()),
    path("species/<uuid:uid>", SpeciesView.as_view()),
]
