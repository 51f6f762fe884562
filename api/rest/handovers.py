"""Handing a shift over, over REST."""

from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, person
from stock import access
from stock.doors.handovers import SAID, confirm_handover, hand_over
from stock.queries.handovers import handover_of, handover_page


class HandoverInput(Input):
    odd = serializers.CharField(max_length=4000, required=False)
    promised = serializers.CharField(max_length=4000, required=False)
    silenced = serializers.CharField(max_length=4000, required=False)


class HandoversView(APIView):
    """What one shift leaves to the next: open, late, odd, promised, silenced."""

    given = HandoverInput

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response({"handovers": handover_page(site)})

    def post(self, request: Request, site: UUID) -> Response:
        given = HandoverInput.read(request)
        said = {name: given[name] for name in SAID if given.get(name)}
        return outputs.answered(hand_over(inputs.asking(request, site), site=site, said=said))


class HandoverReadInput(Input):
    """Nothing but the common fields."""


class HandoverReadingsView(APIView):
    """I have read it."""

    given = HandoverReadInput

    def post(self, request: Request, uid: UUID) -> Response:
        HandoverReadInput.read(request)
        row = handover_of(uid)
        access.site_for(person(request), row.site_id)
        asking = inputs.asking(request, row.site_id)
        return outputs.answered(confirm_handover(asking, handover=uid))


routes = [
    path("sites/<uuid:site>/handovers", HandoversView.as_view()),
    path("handovers/<uuid:uid>/readings", HandoverReadingsView.as_view()),
]
