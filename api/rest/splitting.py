"""Splits and joins over REST, and what a join would do."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, person
from api.rest.moments import then_of
from api.rest.problems import shown_reason
from stock import access
from stock.doors.splitting import (
    JoinAsked,
    PartAsked,
    join_batches,
    may_join_now,
    split_batch,
)
from stock.queries.supplier_losses import supplier_losses

PARTS_MOST = 20
MEMBERS_MOST = 20


class PartInput(Input):
    """So many; without a container, or with the one they are in, they stay where they are."""

    uid = inputs.Uid(required=False)
    count = Count()
    to_container = inputs.Uid(required=False, allow_null=True)
    kit = inputs.Uid(required=False, allow_null=True)


class SplitInput(Input):
    # The stubs know the options of a list only where it is built by hand.
    parts = PartInput(many=True, allow_empty=False, max_length=PARTS_MOST)  # type: ignore[call-arg]


class SplitsView(APIView):
    """One batch becomes several."""

    given = SplitInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = SplitInput.read(request)
        _, site = access.batch_for(person(request), uid, access.HANDS)
        parts = [
            PartAsked(one["count"], one.get("to_container"), one.get("kit"), one.get("uid"))
            for one in given["parts"]
        ]
        asking = inputs.asking(request, site.uid)
        return outputs.answered(split_batch(asking, batch=uid, parts=parts))


class JoinInput(Input):
    members = serializers.ListField(child=inputs.Uid(), min_length=2, max_length=MEMBERS_MOST)
    to_container = inputs.Uid()
    kit = inputs.Uid(required=False, allow_null=True, default=None)
    told_apart = serializers.BooleanField(default=False)


def _asked(given: dict[str, Any]) -> JoinAsked:
    return JoinAsked(
        members=tuple(given["members"]),
        container=given["to_container"],
        kit=given["kit"],
        told_apart=given["told_apart"],
    )


class JoinsView(APIView):
    """Several batches become one."""

    given = JoinInput

    def post(self, request: Request) -> Response:
        asked = _asked(JoinInput.read(request))
        _, site = access.batch_for(person(request), asked.members[0], access.HANDS)
        return outputs.answered(join_batches(inputs.asking(request, site.uid), asked=asked))


class JoinChecksView(APIView):
    """Would this join be allowed, and what would it do? Changes nothing."""

    given = JoinInput

    def post(self, request: Request) -> Response:
        asked = _asked(JoinInput.read(request))
        _, site = access.batch_for(person(request), asked.members[0], access.HANDS)
        reasons, consequence = may_join_now(inputs.asking(request, site.uid), asked=asked)
        return Response(
            {
                "allowed": not any(one.blocks for one in reasons),
                "reasons": [shown_reason(one) for one in reasons],
                "consequence": consequence,
            }
        )


class SupplierLossesView(APIView):
    """What was lost of each supplier's animals, and what may have been theirs."""

    queries = ("at", "known_by")

    def get(self, request: Request, site: UUID) -> Response:
        here = access.site_for(person(request), site)
        return Response({"suppliers": supplier_losses(here.uid, then_of(request, site))})


routes = [
    path("batches/<uuid:uid>/splits", SplitsView.as_view()),
    path("sites/<uuid:site>/supplier-losses", SupplierLossesView.as_view()),
    path("joins", JoinsView.as_view()),
    path("join-checks", JoinChecksView.as_view()),
]
