"""Every public address."""

from django.urls import URLPattern, path, re_path

from api.public.certificate import certificate
from api.public.context import context, epcis_context
from api.public.jwks import issuer, jwks
from api.public.notices import ask, notice
from api.public.outside import outside_second
from api.public.status import status_list
from api.public.visit import begin, visit, visit_report

UID = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"

urlpatterns: list[URLPattern] = [
    path("c/<str:code>", certificate, name="certificate"),
    path("C/<str:code>", certificate),  # as a printed code says it, in capitals alone
    path("c/<str:code>/notices", ask, name="ask-for-notices"),
    path("notices/<str:secret>", notice, name="notice"),
    path("second/<str:secret>", outside_second, name="outside-second"),
    path("visit", visit, name="visit"),
    path("visit/begin/<str:secret>", begin, name="begin-visit"),
    path("visit/reports/<slug:name>", visit_report, name="visit-report"),
    path(".well-known/jwks.json", jwks, name="jwks"),
    path(".well-known/jwt-vc-issuer", issuer),
    path("contexts/quarantine/v1", context),
    path("contexts/epcis/v1", epcis_context),
    re_path(
        f"^status/(?P<organisation>{UID})-(?P<purpose>revocation|suspension)$", status_list
    ),
]
