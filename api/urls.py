"""Every address of the service."""

from django.urls import include, path

from api.rest.health import Health
from api.rest.problems import Nowhere
from api.rest.schema import SchemaView

urlpatterns = [
    path("health", Health.as_view(), name="health"),
    path("api/v1/schema", SchemaView.as_view(), name="schema"),
    path("api/v1/", include("api.rest.routes")),
    path("api/<path:rest>", Nowhere.as_view()),
    path("", include("api.public.routes")),
    path("", include("api.pages.offline_routes")),
    path("", include("api.feeds.routes")),
    path("", include("api.pages.routes")),
]
