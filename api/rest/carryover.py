"""Carry-over of a batch over REST: what a sweep computed, for those who decide."""

from dataclasses import asdict
from uuid import UUID

from django.urls import path
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest.inputs import person
from stock import access
from stock.queries.carryover import carry_over_of


class CarryOverView(APIView):
    """Computed when, by which version of the model and from which inputs; null before that.

    It informs a decision. No certificate and no rule looks at it.
    """

    def get(self, request: Request, uid: UUID) -> Response:
        batch, _ = access.batch_for(person(request), uid, access.DECIDERS)
        found = carry_over_of(batch.uid)
        return Response({"carry_over": None if found is None else asdict(found)})


routes = [path("batches/<uuid:uid>/carry-over", CarryOverView.as_view())]
