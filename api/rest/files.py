"""Documents and photos over REST."""

from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import outputs
from api.rest.inputs import Input, person
from stock import access, clock
from stock.doors.files import keep_document


class FileInput(Input):
    file = serializers.FileField(allow_empty_file=True)


class FilesView(APIView):
    """Asking twice is safe: a file is named by what is in it."""

    parser_classes = [MultiPartParser]
    given = FileInput

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.HANDS)
        upload = FileInput.read(request)["file"]
        return outputs.answered(
            keep_document(
                person(request),
                site=site,
                upload=upload,
                name=upload.name,
                at=clock.now(site),
            )
        )


routes = [path("sites/<uuid:site>/files", FilesView.as_view())]
