"""Certificates over REST: may one be issued, issuing it, and what is told of it later."""

from collections.abc import Callable
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.public.addresses import address_of
from api.rest import inputs, outputs
from api.rest.inputs import Count, Input, person
from api.rest.moments import known_by_of, moment_of
from api.rest.problems import shown_reason
from stock import access
from stock.answers import Answered
from stock.doors import certificates as doors
from stock.queries.certificates import (
    certificate_check,
    certificates_of,
    shown_certificate,
)


class IssueInput(Input):
    """`adds` are words of the seller's own; the record must not stand against them."""

    count = Count()
    adds = serializers.CharField(required=False, allow_blank=True, default="", max_length=300)


class SupersedeInput(IssueInput):
    """With a count, a new certificate for so many is issued in its place."""

    count = Count(required=False, allow_null=True, default=None)


class CheckView(APIView):
    """May this batch be certified? Every reason at once; asking changes nothing."""

    queries = ("at", "known_by")

    def get(self, request: Request, uid: UUID) -> Response:
        batch, site = access.batch_for(person(request), uid)
        at = moment_of(request, site.uid)
        found = certificate_check(batch, at, known_by=known_by_of(request, site.uid))
        return Response({**found, "reasons": [shown_reason(one) for one in found["reasons"]]})


class BatchCertificatesView(APIView):
    given = IssueInput
    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        batch, site = access.batch_for(person(request), uid)
        at, address = moment_of(request, site.uid), address_of(request)
        return Response({"certificates": certificates_of(batch.uid, at, address)})

    def post(self, request: Request, uid: UUID) -> Response:
        given = IssueInput.read(request)
        batch, site = access.batch_for(person(request), uid, access.MANAGERS)
        answer = doors.issue_certificate(
            inputs.asking(request, site.uid),
            site=site,
            batch=batch.uid,
            address=address_of(request),
            **given,
        )
        return outputs.answered(answer)


class CertificateView(APIView):
    queries = ("at",)

    def get(self, request: Request, uid: UUID) -> Response:
        row, site = access.certificate_for(person(request), uid)
        at, address = moment_of(request, site.uid), address_of(request)
        return Response({"certificate": shown_certificate(row, at, address)})


class StepView(APIView):
    """One thing to tell of a certificate, with a reason; the route says which."""

    given = Input
    tell: ClassVar[Callable[..., Answered]]

    def post(self, request: Request, uid: UUID) -> Response:
        given = self.given.read(request)
        _, site = access.certificate_for(person(request), uid)
        asking = inputs.asking(request, site.uid)
        address = address_of(request)
        answer = type(self).tell(asking, certificate=uid, address=address, **given)
        return outputs.answered(answer)


class SuspensionsView(StepView):
    tell = staticmethod(doors.suspend_certificate)


class LiftingsView(StepView):
    tell = staticmethod(doors.lift_certificate)


class RevocationsView(StepView):
    tell = staticmethod(doors.revoke_certificate)


class SupersessionsView(StepView):
    given = SupersedeInput
    tell = staticmethod(doors.supersede_certificate)


routes: list[Any] = [
    path("batches/<uuid:uid>/certificate-check", CheckView.as_view()),
    path("batches/<uuid:uid>/certificates", BatchCertificatesView.as_view()),
    path("certificates/<uuid:uid>", CertificateView.as_view()),
    path("certificates/<uuid:uid>/suspensions", SuspensionsView.as_view()),
    path("certificates/<uuid:uid>/liftings", LiftingsView.as_view()),
    path("certificates/<uuid:uid>/revocations", RevocationsView.as_view()),
    path("certificates/<uuid:uid>/supersessions", SupersessionsView.as_view()),
]
