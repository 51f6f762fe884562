"""Traces over REST: what could have passed from a thing, or to it, along contacts in time."""

from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, person
from protocols.tracing_answer import DIRECTIONS, Question
from protocols.tracing_decisions import DECISIONS
from stock import access, clock
from stock.doors.traces import decide_trace, make_trace, trace_for
from stock.queries.ledger import size_of
from stock.queries.traces import shown, traces_of
from stock.refusals import Refused, refuse


class TraceInput(Input):
    of = inputs.Uid()
    day = serializers.DateField(required=False)
    direction = serializers.ChoiceField(list(DIRECTIONS))
    since = Moment(required=False)
    until = Moment(required=False)
    known_by = inputs.Count(least=0, required=False)


class TracesView(APIView):
    """The traces of a site, the newest first; a new one from a thing forward or back.

    `of` is a batch, container, kit, piece, instrument, make, supplier, consignment or system;
    with `day` a person, for whatever their hands touched on that day of the site.
    """

    given = TraceInput

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.READERS)
        return Response({"traces": traces_of(site)})

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.READERS)
        body = self.given.read(request)
        now = clock.now(site)
        day = body.get("day")
        asked = Question(
            str(body["of"]) if day is None else f"{body['of']} {day.isoformat()}",
            body["direction"],
            body.get("since"),
            min(body.get("until") or now, now),
        )
        known_by = body.get("known_by")
        if known_by is not None and known_by >= (size := size_of(site)):
            said = f"The record book holds {size} entries so far."
            raise Refused(refuse("unreadable", said, pointer="/known_by", size=size))
        row = make_trace(person(request), site=site, asked=asked, known_by=known_by, at=now)
        return Response({"trace": shown(row).data()})


class TraceView(APIView):
    def get(self, request: Request, uid: UUID) -> Response:
        return Response({"trace": shown(trace_for(person(request), uid)).data()})


class TraceDecisionInput(Input):
    batch = inputs.Uid()
    decision = serializers.ChoiceField(list(DECISIONS))


class TraceDecisionsView(APIView):
    """What the trace means for one of its batches, with a reason; affected: on hold."""

    given = TraceDecisionInput

    def post(self, request: Request, uid: UUID) -> Response:
        body = self.given.read(request)
        row = trace_for(person(request), uid)
        asking = inputs.asking(request, row.site)
        return outputs.answered(
            decide_trace(asking, trace=uid, batch=body["batch"], decision=body["decision"])
        )


routes = [
    path("sites/<uuid:site>/traces", TracesView.as_view()),
    path("traces/<uuid:uid>", TraceView.as_view()),
    path("traces/<uuid:uid>/decisions", TraceDecisionsView.as_view()),
]
