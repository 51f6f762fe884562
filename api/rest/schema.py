"""The machine-readable description of the REST interface, made from the views themselves."""

import json
from functools import cache
from typing import Any

from django.http import HttpResponse
from drf_spectacular.extensions import (
    OpenApiAuthenticationExtension,
    OpenApiSerializerFieldExtension,
)
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.views import APIView

from api.rest.inputs import CommonInput, Input
from api.rest.outputs import ProblemJson
from api.rest.parsers import JsonBody

# What may stand in the query of a GET; each view names its own as `queries`.
QUERIES: dict[str, tuple[Any, str]] = {
    "after": (str, "The last one of the page before."),
    "at": (OpenApiTypes.DATETIME, "As at this moment, by performed time; else now."),
    "as": (str, "As a file: exact, spreadsheet or pdf; else as data."),
    "arrival": (bool, "Out of their bags, so without food on the first day; else true."),
    "batch": (str, "Only of the batch with this code."),
    "code": (str, "The short code on a label, with or without its hyphen."),
    "copies": (int, "So many of each label; else one."),
    "count": (int, "So many of them; else one."),
    "day": (OpenApiTypes.DATE, "A day as the wall clock of the site reads it; else today."),
    "from": (OpenApiTypes.DATETIME, "The beginning of a span."),
    "known_by": (int, "As known by this position of the record book."),
    "known_on": (OpenApiTypes.DATE, "As known at the end of this day of the site."),
    "length_cm": (str, "How long they are, nose to tail, in cm."),
    "limit": (int, "So many at most."),
    "name": (str, "A scientific name, where the species is not on record."),
    "of": (
        OpenApiTypes.UUID,
        "One thing, or what belongs to it: a rack, a kit, a consignment.",
    ),
    "older": (int, "How many entries the record book had before."),
    "open": (bool, "Only those that are open, or only those that are not."),
    "paper": (str, "a4-24, a4-14, roll-57 or roll-62; else a4-24."),
    "poor_oxygen": (bool, "Whether sand or rock in it may be poor in oxygen."),
    "protocol": (str, "By this protocol version."),
    "quantity": (str, "Only readings of this quantity."),
    "report": (str, "One of the reports by its name; without it they are listed."),
    "size": (int, "The record book as it was with so many entries; else now."),
    "site": (OpenApiTypes.UUID, "Of this site alone; a foreign one gives an empty list."),
    "skip": (int, "So many labels of the first sheet are used already."),
    "species": (OpenApiTypes.UUID, "A species of the organisation."),
    "state": (str, "Only those in this state."),
    "what": (str, "container, kit, piece, instrument, batch, bag, sold or bleach."),
    "to": (OpenApiTypes.DATETIME, "The end of a span."),
}
KEY = OpenApiParameter(
    "Idempotency-Key",
    str,
    OpenApiParameter.HEADER,
    required=True,
    description="1 to 200 characters. Asked again with the same key, it is done once.",
)
VERSION_READ = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    required=True,
    description="The version that was read, as the ETag of the thing says it.",
)


class AlternativeOutput(serializers.Serializer[Any]):
    """What would be possible instead."""

    kind = serializers.CharField()
    uid = serializers.UUIDField(required=False)
    label = serializers.CharField(required=False)  # type: ignore[assignment]
    to = serializers.DateTimeField(required=False)

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        return {**super().get_fields(), "from": serializers.DateTimeField(required=False)}


class ReasonOutput(serializers.Serializer[Any]):
    """One rule that stands against what was asked, with its numbers."""

    code = serializers.CharField()
    rule = serializers.CharField()
    text = serializers.CharField()
    blocks = serializers.BooleanField()
    numbers = serializers.DictField()
    instead = AlternativeOutput(many=True)
    may_insist = serializers.ListField(child=serializers.CharField())
    cleared_by = serializers.CharField(required=False)
    who = serializers.ListField(child=serializers.CharField(), required=False)
    task = serializers.CharField(required=False)
    pointer = serializers.CharField(required=False)


class ProblemOutput(serializers.Serializer[Any]):
    """Every refusal (RFC 9457)."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()
    reasons = ReasonOutput(many=True)
    existing = serializers.DictField(required=False)
    request_id = serializers.UUIDField()


class Bearer(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.tokens.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class ByDevice(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.probes.ProbeAuthentication"
    name = "device"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class MomentSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.inputs.Moment"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, str]:
        return {"type": "string", "format": "date-time"}


class AphiaIdSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.suppliers.AphiaId"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        return {"type": "integer", "minimum": 1}


class ClaimTermsSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.suppliers.ClaimTerms"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        return {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1}}


class AnswersSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.imports.AnswersText"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, str]:
        return {"type": "string", "contentMediaType": "application/json"}


class ListSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """Names alone, or objects that say more."""

    target_class = "api.rest.intake.BoxesField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        return {"type": "array", "items": {"oneOf": [{"type": "string"}, {"type": "object"}]}}


class MoveReadingsSchema(ListSchema):  # type: ignore[no-untyped-call]
    target_class = "api.rest.batches.ReadingsField"


class AmountSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """A number as text, or with its unit beside it."""

    target_class = "api.rest.water.Amount"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        text = {"type": "string"}
        both = {"type": "object", "properties": {"value": text, "unit": text}}
        return {"oneOf": [text, {**both, "required": ["value", "unit"]}]}


class Schema(AutoSchema):
    """Request bodies are the view's `given` serializer, answers plain objects."""

    def get_operation_id(self) -> str:
        """The method and the path in words: no two operations share both."""
        words = [word.strip("{}").replace("-", "_") for word in self.path.split("/") if word]
        marked = ["by" if "{" in word else "" for word in self.path.split("/") if word]
        parts = [f"{by}_{word}" if by else word for by, word in zip(marked, words, strict=True)]
        return "_".join([self.method.lower(), *parts])

    def get_tags(self) -> list[str]:
        """The subject: the first word of the path."""
        return [next(word for word in self.path.split("/") if word not in ("", "api", "v1"))]

    def get_override_parameters(self) -> list[Any]:
        """The request key, the version that was read, and what the query may say."""
        if self.method == "GET":
            return [_query(name) for name in getattr(self.view, "queries", ())]
        headers = [KEY] if self._has_common_fields() else []
        changes = self.method == "PUT" and getattr(self.view, "versioned", True)
        return [*headers, VERSION_READ] if changes else headers

    def get_request_serializer(self) -> Any:
        """The Input that a view names as `given`, with the fields that every entry may have."""
        given = getattr(self.view, "given", None)
        if given is None:
            return OpenApiTypes.OBJECT
        return _with_common(given) if self._has_common_fields() else given

    def get_response_serializers(self) -> Any:
        """What is good in the view's own media types, and a problem for everything else."""
        sorts = [one.media_type for one in self.view.renderer_classes if one is not ProblemJson]
        good = (201, 200) if self.method == "POST" else (200,)
        answers = {(status, *sorts): OpenApiTypes.OBJECT for status in good}
        problem = OpenApiResponse(ProblemOutput, description="A problem, with every reason.")
        return {**answers, ("default", ProblemJson.media_type): problem}

    def _has_common_fields(self) -> bool:
        """Signed in and in JSON: what is answered by a door, under a request key."""
        view = self.view
        is_json = JsonBody in view.parser_classes
        is_known = AllowAny not in view.permission_classes
        return is_json and is_known and getattr(view, "keyed", True)


@cache
def _with_common(given: type[Input]) -> type[serializers.Serializer[Any]]:
    if not given().fields:
        return CommonInput
    name = f"{given.__name__.removesuffix('Input')}Request"
    return type(name, (given, CommonInput), {"__doc__": given.__doc__ or ""})


def _query(name: str) -> OpenApiParameter:
    sort, text = QUERIES[name]
    return OpenApiParameter(name, sort, OpenApiParameter.QUERY, description=text)


@cache
def document() -> bytes:
    """The OpenAPI document: the same for everybody, made once by each process."""
    found = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return json.dumps(found, indent=1).encode()


class SchemaView(APIView):
    """For everybody: it says nothing that the text of the program does not."""

    schema = None
    authentication_classes = ()
    permission_classes = (AllowAny,)

    def get(self, request: Request) -> HttpResponse:
        return HttpResponse(document(), content_type="application/json")
