"""Labels over REST: the same PDF as the page makes."""

from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.urls import path
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.views import APIView

from api.pages.label_words import Saying
from api.pages.labels import LabelsForm, labels_file
from api.public.addresses import address_of
from api.rest.inputs import person
from api.rest.outputs import Json, ProblemJson
from protocols.units import Units
from stock import access, clock
from stock.refusals import NotFound, Refused, refuse


class Pdf(BaseRenderer):
    """Only so that a request for a PDF is not turned away; the answer is a file."""

    media_type = "application/pdf"
    format = "pdf"


class LabelsView(APIView):
    """Labels of one sort, or of one thing and what belongs to it."""

    renderer_classes = [Json, ProblemJson, Pdf]
    queries = ("what", "paper", "of", "copies", "skip")

    def get(self, request: Request, site: UUID) -> HttpResponse:
        row = access.site_for(person(request), site)
        form = LabelsForm({"paper": "a4-24", **request.query_params.dict()})
        if not form.is_valid():
            reasons = (
                refuse("unreadable", str(errors[0]), pointer=f"/{name.strip('_')}")
                for name, errors in form.errors.items()
            )
            raise Refused(*reasons)
        units = Units(person(request).units)
        said = Saying(ZoneInfo(row.zone), clock.now(site), units, address_of(request))
        file = labels_file(form.cleaned_data, site, said)
        if file is None:
            raise NotFound
        return file


routes = [path("sites/<uuid:site>/labels", LabelsView.as_view())]
