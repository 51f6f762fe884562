"""How long a system has been without fish, over REST."""

from uuid import UUID

from django.urls import path
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest.inputs import person
from api.rest.moments import moment_of
from protocols.library.values import Fallow
from protocols.versions import UnknownProtocol
from stock import access
from stock.queries.fallow import shown_left_alone, system_head, system_left_alone
from stock.queries.protocols import version_of
from stock.refusals import Refused, refuse

FALLOW = "fallow-system@1"


class FallowView(APIView):
    """Against each organism: how many days without fish are needed, and when they are over."""

    queries = ("at", "protocol", "poor_oxygen")

    def get(self, request: Request, uid: UUID) -> Response:
        system = system_head(uid)
        site = access.site_for(person(request), system.site_id)
        rule = _rule(site.organisation_id, request.query_params.get("protocol", FALLOW))
        at = moment_of(request, site.uid)
        poor = request.query_params.get("poor_oxygen") == "true"
        found = system_left_alone(system, rule, at, poor_oxygen=poor)
        return Response({"system": str(uid), "protocol": rule.key, **shown_left_alone(found)})


def _rule(organisation: UUID, key: str) -> Fallow:
    try:
        found = version_of(organisation, key).found
    except UnknownProtocol:
        found = None
    if not isinstance(found, Fallow):
        text = "There is no such protocol for a system without fish."
        raise Refused(refuse("unreadable", text, pointer="/protocol"))
    return found


routes = [path("systems/<uuid:uid>/fallow", FallowView.as_view())]
