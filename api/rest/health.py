"""Whether the service answers, and what it stands on."""

from typing import Any

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import VERSION


class HealthOutput(serializers.Serializer[Any]):
    """What the answer holds."""

    version = serializers.CharField()
    database = serializers.ChoiceField(["sqlite", "postgresql"])
    migration = serializers.CharField(allow_null=True)
    test_clock = serializers.BooleanField()


class Health(APIView):
    """For whoever watches the service: no sign-in, one query, nothing about animals."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    @extend_schema(responses=HealthOutput)
    def get(self, request: Request) -> Response:
        """Version, database engine, last migration, and whether the test clock is on."""
        applied = MigrationRecorder.Migration.objects.using("default").filter(app="stock")
        return Response(
            {
                "version": VERSION,
                "database": connection.vendor,
                "migration": applied.order_by("-id").values_list("name", flat=True).first(),
                "test_clock": settings.TEST_CLOCK,
            }
        )
