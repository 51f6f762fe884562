"""Dispatches and returns over REST."""

from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, person
from stock import access
from stock.doors.leaving import DispatchAsked, dispatch_animals, take_back


class DispatchInput(Input):
    """So many for a buyer (a name or a uid), or for another site of the organisation."""

    count = Count()
    buyer = serializers.CharField(max_length=200, required=False, default=None)
    site = inputs.Uid(required=False, default=None)
    certificate = inputs.Uid(required=False, allow_null=True, default=None)


class DispatchesView(APIView):
    given = DispatchInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = DispatchInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        asked = DispatchAsked(batch=uid, **given)
        return outputs.answered(dispatch_animals(asking, asked=asked))


class ReturnInput(Input):
    """So many that came back, out of the newest dispatch unless another is named."""

    count = Count()
    dispatch = inputs.Uid(required=False, default=None)
    state = serializers.CharField(max_length=200, default="alive")


class ReturnsView(APIView):
    given = ReturnInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = ReturnInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        asking = inputs.asking(request, site.uid)
        return outputs.answered(take_back(asking, batch=uid, **given))


routes = [
    path("batches/<uuid:uid>/dispatches", DispatchesView.as_view()),
    path("batches/<uuid:uid>/returns", ReturnsView.as_view()),
]
