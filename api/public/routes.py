"""Every public address."""

from django.urls import URLPattern, path, re_path

from api.public.certificate import certificate
from api.public.checker import checker
from api.public.context import context, epcis_context
from api.public.crowding import not_too_often
from api.public.jwks import issuer, jwks
from api.public.notices import ask, notice
from api.public.outside import outside_second
from api.public.status import status_list
from api.public.visit import begin, visit, visit_report

UID = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"

urlpatterns: list[URLPattern] = [
    path("c/<str:code>", not_too_often(certificate), name="certificate"),
    path("C/<str:code>", not_too_often(certificate)),  # as a printed code says it, in capitals
    path("c/<str:code>/notices", not_too_often(ask), name="ask-for-notices"),
    path("notices/<str:secret>", not_too_often(notice), name="notice"),
    path("check-certificate.py", checker, name="check-certificate"),
    path("second/<str:secret>", not_too_often(outside_second), name="outside-second"),
    path("visit", visit, name="visit"),
    path("visit/begin/<str:secret>", not_too_often(begin), name="begin-visit"),
    path("visit/reports/<slug:name>", visit_report, name="visit-report"),
    path(".well-known/jwks.json", not_too_often(jwks), name="jwks"),
    path(".well-known/jwt-vc-issuer", issuer),
    path("contexts/quarantine/v1", context),
    path("contexts/epcis/v1", epcis_context),
    re_path(
        f"^status/(?P<organisation>{UID})-(?P<purpose>revocation|suspension)$",
        not_too_often(status_list),
    ),
]
