"""What a tablet or probe says of itself over REST: what it still holds, how its clock runs."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest.inputs import Count, Input, Moment, person
from stock import access, clock
from stock.doors.devices import Report, take_report
from stock.queries.devices import device_seen
from stock.refusals import NotFound, Refused, refuse

RUNS_MOST_MS = 10**15


class ReportInput(Input):
    """Moments are by the device's own clock; `monotonic_ms` never goes back while it runs."""

    sent_at = Moment()
    unsent = Count(least=0)
    last_entry_no = Count(least=0)
    oldest_unsent_at = Moment(required=False, allow_null=True, default=None)
    monotonic_ms = serializers.IntegerField(
        required=False, allow_null=True, default=None, min_value=0, max_value=RUNS_MOST_MS
    )


def read_report(data: Any) -> Report:
    """A report from its JSON; Refused or ValidationError for anything else."""
    if not isinstance(data, Mapping):
        raise Refused(refuse("unreadable", "The body must be an object.", pointer="/"))
    given = ReportInput(data=data)
    given.is_valid(raise_exception=True)
    return Report(**given.validated_data)


class ReportsView(APIView):
    """No request key: telling it twice changes nothing."""

    given = ReportInput

    def post(self, request: Request, uid: UUID) -> Response:
        device = device_seen(uid)
        if device is None:
            raise NotFound
        access.site_for(person(request), device.site, access.HANDS)
        report = read_report(request.data)
        return Response(take_report(device, report, clock.now(device.site)))


routes = [path("devices/<uuid:uid>/reports", ReportsView.as_view())]
