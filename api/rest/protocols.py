"""Protocol versions over REST: which there are, what one says, and a new one made from it."""

from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, person
from api.rest.moments import moment_of
from protocols.library.lint import lint
from protocols.library.making import TEXT_MOST, read_made
from protocols.library.writing import difference
from protocols.ruled import Reason
from protocols.versions import UnknownProtocol
from stock import access
from stock.doors.protocols import freeze_protocol
from stock.queries.doses import courses_of, shown_course
from stock.queries.protocols import (
    Shown,
    shown_finding,
    shown_version,
    version_of,
    versions_of,
)
from stock.refusals import Refused, refuse

KEY = r"^[a-z0-9-]{1,30}@[0-9]{1,8}$"


class VersionInput(Input):
    made_from = serializers.RegexField(KEY)
    # A definition as TOML, kept as it was sent but for line ends.
    text = serializers.CharField(max_length=TEXT_MOST, trim_whitespace=False)


class ProtocolsView(APIView):
    """Every version that may be worked by, the default first; with `protocol` one, whole."""

    given = VersionInput
    queries = ("protocol",)

    def get(self, request: Request) -> Response:
        organisation = access.organisation_for(person(request)).uid
        key = request.query_params.get("protocol")
        if key is None:
            found = [shown_version(one, whole=False) for one in versions_of(organisation)]
            return Response({"protocols": found})
        try:
            return Response({"protocols": [shown_version(version_of(organisation, key))]})
        except UnknownProtocol:
            return Response({"protocols": []})

    def post(self, request: Request) -> Response:
        asking = inputs.asking(request, person(request).organisation)
        return outputs.answered(freeze_protocol(asking, **self.given.read(request)))


class ProtocolChecksView(APIView):
    """What is unsafe in a text, and in what it differs from another version. Keeps nothing."""

    given = VersionInput

    def post(self, request: Request) -> Response:
        organisation = access.organisation_for(person(request)).uid
        said = self.given.read(request)
        found = read_made(said["text"])
        if isinstance(found, Reason):
            raise Refused(found)
        changes = difference(_origin(organisation, said["made_from"]).text, said["text"])
        return Response(
            {
                "protocol": found.key,
                "findings": [shown_finding(one) for one in lint(found)],
                "changes": [
                    {"member": one.member, "before": one.before, "after": one.after}
                    for one in changes
                ],
            }
        )


def _origin(organisation: UUID, key: str) -> Shown:
    try:
        return version_of(organisation, key)
    except UnknownProtocol as error:
        text = "There is no such protocol."
        raise Refused(refuse("unreadable", text, pointer="/made_from")) from error


class TreatmentsView(APIView):
    """What was given to a batch under a version, with its clock; the newest course first."""

    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        batch, site = access.batch_for(person(request), uid)
        found = courses_of(batch, site.organisation_id, moment_of(request, site.uid))
        return Response({"treatments": [shown_course(one) for one in found]})


routes = [
    path("batches/<uuid:uid>/treatments", TreatmentsView.as_view()),
    path("protocols", ProtocolsView.as_view()),
    path("protocol-checks", ProtocolChecksView.as_view()),
]
