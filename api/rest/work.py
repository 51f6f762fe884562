"""Tasks over REST: what is to be done, who does it; and the timetable under the test clock."""

from collections.abc import Callable
from uuid import UUID

from django.conf import settings
from django.http import Http404
from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, person
from api.rest.moments import moment_of
from stock import access, carryover, clock, sweeps
from stock.answers import Answered
from stock.doors.work import complete_task, hand_back_task, take_task
from stock.queries.records import log_of_task
from stock.queries.work import site_of_text, task_page


class TasksView(APIView):
    queries = ("site", "at")

    def get(self, request: Request) -> Response:
        site = site_of_text(request.query_params.get("site"))
        at = moment_of(request, site)
        return Response({"tasks": task_page(person(request), site=site, at=at), "as_of": at})


class TaskInput(Input):
    """Nothing but the common fields."""


class TaskChangeView(APIView):
    given = TaskInput
    door: Callable[..., Answered]

    def post(self, request: Request, uid: UUID) -> Response:
        TaskInput.read(request)
        asking = inputs.asking(request, log_of_task(person(request), uid))
        return outputs.answered(type(self).door(asking, task=uid))


class TakersView(TaskChangeView):
    """I do it."""

    door = staticmethod(take_task)


class HandBacksView(TaskChangeView):
    """I do not do it, and why."""

    door = staticmethod(hand_back_task)


class CompletionsView(TaskChangeView):
    """It is done, where no report says so."""

    door = staticmethod(complete_task)


class SweepInput(Input):
    site = inputs.Uid()
    carry_over = serializers.BooleanField(default=False)


class SweepsView(APIView):
    """Under the test clock only: everything that the timetable does, at the named moment."""

    given = SweepInput
    keyed = False

    def post(self, request: Request) -> Response:
        if not settings.TEST_CLOCK:
            raise Http404
        given = SweepInput.read(request)
        site = access.site_for(person(request), given["site"])
        at = clock.now(site.uid)
        done = sweeps.sweep_now(site.uid, at)
        if given["carry_over"]:
            done["carry_over"] = [str(uid) for uid in carryover.sweep(site.uid, at)]
        return Response(done)


routes = [
    path("tasks", TasksView.as_view()),
    path("tasks/<uuid:uid>/takers", TakersView.as_view()),
    path("tasks/<uuid:uid>/hand-backs", HandBacksView.as_view()),
    path("tasks/<uuid:uid>/completions", CompletionsView.as_view()),
    path("test-clock/sweeps", SweepsView.as_view()),
]
