"""Packing lists over REST: sent and looked through, then applied."""

import json
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.files import FileInput
from api.rest.inputs import Input, person
from stock import access, clock
from stock.doors.imports import Sent, apply_list, import_for, preview_list
from stock.queries.lists import import_shown

DIFFERENCES_MOST = 20_000
KEY_MOST = 500


class AnswersText(serializers.Field[Any, Any, Any, Any]):
    """Answers as the text of a JSON object: a form has no other way to send one."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        try:
            answers = json.loads(str(data))
        except (ValueError, RecursionError):
            answers = None
        if not isinstance(answers, dict):
            raise serializers.ValidationError("Send a JSON object.", code="unreadable")
        return answers


class ImportInput(FileInput):
    supplier = inputs.Uid()
    answers = AnswersText(required=False, default=dict)


class ApplicationInput(Input):
    answers = serializers.DictField(default=dict)
    differences_accepted = serializers.ListField(
        child=serializers.CharField(max_length=KEY_MOST, trim_whitespace=False),
        max_length=DIFFERENCES_MOST,
        default=list,
    )


class ImportsView(APIView):
    """Asking twice is safe: the same file of the same supplier is the same import."""

    parser_classes = [MultiPartParser]
    given = ImportInput

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.MANAGERS)
        given = ImportInput.read(request)
        upload = given["file"]
        sent = Sent(upload, upload.name, given["answers"])
        return outputs.answered(
            preview_list(
                person(request),
                site=site,
                supplier=given["supplier"],
                sent=sent,
                at=clock.now(site),
            )
        )


class ImportView(APIView):
    def get(self, request: Request, uid: UUID) -> Response:
        listing, _ = import_for(person(request), uid)
        return Response({"import": import_shown(listing, person(request))})


class ApplicationsView(APIView):
    given = ApplicationInput

    def post(self, request: Request, uid: UUID) -> Response:
        _, site = import_for(person(request), uid)
        given = ApplicationInput.read(request)
        return outputs.answered(
            apply_list(
                inputs.asking(request, site.uid),
                uid=uid,
                answers=given["answers"],
                accepted=frozenset(given["differences_accepted"]),
            )
        )


routes = [
    path("sites/<uuid:site>/imports", ImportsView.as_view()),
    path("imports/<uuid:uid>", ImportView.as_view()),
    path("imports/<uuid:uid>/applications", ApplicationsView.as_view()),
]
