"""Every address of the service."""

from django.urls import include, path

from api.rest.health import Health

urlpatterns = [
    path("health", Health.as_view(), name="health"),
    path("api/v1/", include("api.rest.routes")),
    path("", include("api.public.routes")),
    path("", include("api.pages.routes")),
]
