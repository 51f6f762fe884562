"""Legal holds and erasing over REST."""

from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Uid, person
from stock import access, clock
from stock.doors.erasing import erase_name, erase_texts, lift_legal_hold, place_legal_hold
from stock.queries.retention import could_be_erased, hold_row, holds_shown, people_to_erase
from stock.refusals import NotFound

MOST = 200


class LegalHoldInput(Input):
    """Without `batches` over the whole site. Why is said in `reason`."""

    batches = serializers.ListField(child=Uid(), required=False, max_length=MOST)


class NothingMore(Input):
    """Nothing but the common fields; why is said in `reason`."""


class TextsInput(Input):
    facts = serializers.ListField(child=Uid(), min_length=1, max_length=MOST)


class RetentionView(APIView):
    """Legal holds, what need not be kept any more, and whose account is ended."""

    def get(self, request: Request, site: UUID) -> Response:
        row = access.site_for(person(request), site, access.MANAGERS)
        found = could_be_erased(site, clock.now(site))
        gone = people_to_erase(row.organisation_id)
        people = [{"uid": str(one.uid), "name": one.name} for one in gone]
        holds = holds_shown(site, ZoneInfo(row.zone))
        return Response({**found, "people": people, "legal_holds": holds})


class LegalHoldsView(APIView):
    given = LegalHoldInput

    def post(self, request: Request, site: UUID) -> Response:
        given = LegalHoldInput.read(request)
        asking = inputs.asking(request, site)
        batches = given.get("batches", ())
        return outputs.answered(place_legal_hold(asking, site=site, batches=batches))


class LiftingView(APIView):
    given = NothingMore

    def post(self, request: Request, uid: UUID) -> Response:
        NothingMore.read(request)
        row = hold_row(uid)
        if row is None:
            raise NotFound
        access.site_for(person(request), row.site_id)
        asking = inputs.asking(request, row.site_id)
        return outputs.answered(lift_legal_hold(asking, hold=uid))


class ErasedTextsView(APIView):
    """The notes and names beside these entries; what is still kept is insisted on."""

    given = TextsInput

    def post(self, request: Request, site: UUID) -> Response:
        given = TextsInput.read(request)
        asking = inputs.asking(request, site)
        return outputs.answered(erase_texts(asking, site=site, facts=given["facts"]))


class ErasedNameView(APIView):
    """The name of somebody whose account is ended."""

    given = NothingMore

    def post(self, request: Request, uid: UUID) -> Response:
        NothingMore.read(request)
        asking = inputs.asking(request, person(request).organisation)
        return outputs.answered(erase_name(asking, person=uid))


routes = [
    path("sites/<uuid:site>/retention", RetentionView.as_view()),
    path("sites/<uuid:site>/legal-holds", LegalHoldsView.as_view()),
    path("legal-holds/<uuid:uid>/lifting", LiftingView.as_view()),
    path("sites/<uuid:site>/erased-texts", ErasedTextsView.as_view()),
    path("people/<uuid:uid>/erasure", ErasedNameView.as_view()),
]
