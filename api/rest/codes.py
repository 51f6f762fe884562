"""Short codes over REST: what bears one, and all of them for a tablet without network."""

from typing import Any
from uuid import UUID

from django.urls import path, reverse
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest.inputs import person
from protocols.codes import read_code
from stock import access
from stock.queries.labelled import Labelled, bearers, everything_labelled
from stock.refusals import NotFound, Refused, refuse

UNSOUND = "This is no sound code: its last character does not fit. Scan or type it again."


class CodesView(APIView):
    """What bears one code, or every code with what bears it.

    A code that is not sound was misread; a foreign one is not there.
    """

    queries = ("code",)

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        code = request.query_params.get("code")
        if code is None:
            return Response({"things": [shown(one, site) for one in everything_labelled(site)]})
        read = read_code(code)
        if read is None:
            raise Refused(refuse("code_unsound", UNSOUND, pointer="/code"))
        found = bearers(site, read)
        if not found:
            raise NotFound
        return Response({"things": [shown(one, site) for one in found]})


def shown(one: Labelled, site: UUID) -> dict[str, Any]:
    return {
        "what": one.what,
        "uid": str(one.uid),
        "code": one.code,
        "label": one.label,
        "beside": [str(uid) for uid in one.beside],
        "page": page_of(one, site),
    }


def page_of(one: Labelled, site: UUID) -> str:
    """The page of a thing; a piece has that of its kit, an instrument none of its own."""
    if one.what in PAGES:
        return reverse(PAGES[one.what], args=[one.uid])
    return reverse("kit", args=[one.kit]) if one.kit else reverse("kits", args=[site])


PAGES = {
    "container": "container",
    "kit": "kit",
    "batch": "batch",
    "bag": "count-line",
    "sheet": "paper-sheet",
}

routes = [path("sites/<uuid:site>/codes", CodesView.as_view())]
