"""Deviations and their decisions, and words about earlier facts, over REST."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, person
from api.rest.moments import moment_of, site_in, then_of
from protocols.clocks import utc_text
from protocols.kinds.questions import DECISIONS
from stock import access
from stock.doors.accounts import decide_account
from stock.doors.questions import (
    confirm_fact,
    contradict_fact,
    correct_fact,
    decide_deviation,
    withdraw_fact,
)
from stock.doors.settling import PartAsked, settle_report
from stock.queries.questions import deviations_page, deviations_then
from stock.queries.records import log_of_deviation, log_of_fact

FLAGS = {"true": True, "1": True, "false": False, "0": False}


class DeviationsView(APIView):
    """What is in question; with a `site` also at another moment, or as it was known."""

    queries = ("site", "open", "at", "known_by")

    def get(self, request: Request) -> Response:
        site = site_in(request)
        at = moment_of(request, site)
        open_only = FLAGS.get(request.query_params.get("open", "").lower())
        then = then_of(request, site)
        if then and site is not None:
            here = access.site_for(person(request), site)
            rows = deviations_then(here, open_only=open_only, at=at, then=then)
        else:
            named = request.query_params.get("site")
            rows = deviations_page(person(request), site=named, open_only=open_only, at=at)
        return Response({"deviations": rows})


class DecisionInput(Input):
    decision = serializers.ChoiceField(DECISIONS)
    known = serializers.DictField(default=dict)

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language.
        start = serializers.ChoiceField(["this_stay"], required=False)
        return {**super().get_fields(), "from": start}


class DecisionsView(APIView):
    given = DecisionInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = DecisionInput.read(request)
        answer = decide_deviation(
            inputs.asking(request, log_of_deviation(person(request), uid)),
            deviation=uid,
            decision=given["decision"],
            known=given["known"],
            from_this_stay=given.get("from") == "this_stay",
        )
        return outputs.answered(answer)


class NoInput(Input):
    """Nothing but the common fields."""


class ConfirmationsView(APIView):
    given = NoInput

    def post(self, request: Request, uid: UUID) -> Response:
        NoInput.read(request)
        asking = inputs.asking(request, log_of_fact(person(request), uid))
        return outputs.answered(confirm_fact(asking, fact=uid))


class WithdrawalsView(APIView):
    given = NoInput

    def post(self, request: Request, uid: UUID) -> Response:
        NoInput.read(request)
        asking = inputs.asking(request, log_of_fact(person(request), uid))
        return outputs.answered(withdraw_fact(asking, fact=uid))


class ContradictionInput(Input):
    what = serializers.CharField(max_length=1000)


class ContradictionsView(APIView):
    given = ContradictionInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = ContradictionInput.read(request)
        asking = inputs.asking(request, log_of_fact(person(request), uid))
        return outputs.answered(contradict_fact(asking, fact=uid, what=given["what"]))


class CorrectionInput(Input):
    field = serializers.CharField(max_length=100)
    new = serializers.JSONField()


class CorrectionsView(APIView):
    given = CorrectionInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = CorrectionInput.read(request)
        new = given["new"]
        if given["field"] == "performed_at":
            new = utc_text(inputs.at_field(new, "new")[0])
        asking = inputs.asking(request, log_of_fact(person(request), uid))
        return outputs.answered(correct_fact(asking, fact=uid, field=given["field"], new=new))


class AttributionInput(Input):
    batch = inputs.Uid()
    count = inputs.Count()


class SettlementInput(Input):
    attribution = serializers.ListField(
        child=AttributionInput(), required=False, default=list, max_length=50
    )
    void = serializers.BooleanField(required=False, default=False)


class SettlementsView(APIView):
    given = SettlementInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = SettlementInput.read(request)
        answer = settle_report(
            inputs.asking(request, log_of_fact(person(request), uid)),
            fact=uid,
            parts=[PartAsked(**one) for one in given["attribution"]],
            void=given["void"],
        )
        return outputs.answered(answer)


class AccountDecisionInput(Input):
    accepted = inputs.Uid()


class AccountDecisionsView(APIView):
    given = AccountDecisionInput

    def post(self, request: Request, uid: UUID) -> Response:
        given = AccountDecisionInput.read(request)
        asking = inputs.asking(request, log_of_fact(person(request), uid))
        return outputs.answered(decide_account(asking, fact=uid, accepted=given["accepted"]))


routes = [
    path("deviations", DeviationsView.as_view()),
    path("deviations/<uuid:uid>/decisions", DecisionsView.as_view()),
    path("facts/<uuid:uid>/confirmations", ConfirmationsView.as_view()),
    path("facts/<uuid:uid>/withdrawals", WithdrawalsView.as_view()),
    path("facts/<uuid:uid>/contradictions", ContradictionsView.as_view()),
    path("facts/<uuid:uid>/corrections", CorrectionsView.as_view()),
    path("facts/<uuid:uid>/account-decisions", AccountDecisionsView.as_view()),
    path("facts/<uuid:uid>/settlements", SettlementsView.as_view()),
]
