"""Every address of the service."""

from django.urls import path

from api.rest.health import Health

urlpatterns = [
    path("health", Health.as_view(), name="health"),
]
