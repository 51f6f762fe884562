"""Webhooks over REST: set up, changed, tested, sent again. For managers, and no facts."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs
from api.rest.inputs import Input, Moment, person
from api.rest.moments import DIGITS_MOST
from protocols.addresses import LENGTH_MOST
from protocols.webhooks import EVENTS
from stock import access, clock
from stock.doors import webhooks as door
from stock.queries.webhooks import (
    deliveries_of,
    shown_delivery,
    shown_webhook,
    webhook_for,
    webhooks_of,
)
from stock.refusals import Refused, refuse


class Kinds(serializers.ListField):
    """Events by their names, each once."""

    def __init__(self, **options: Any) -> None:
        child = serializers.ChoiceField(EVENTS)
        super().__init__(child=child, min_length=1, max_length=len(EVENTS), **options)


class WebhookInput(Input):
    # The name of the field is also that of an attribute of every serializer field.
    label = serializers.CharField(max_length=40)  # type: ignore[assignment]
    address = serializers.CharField(max_length=LENGTH_MOST)
    kinds = Kinds()


class ChangeInput(Input):
    """What is not said stays."""

    address = serializers.CharField(max_length=LENGTH_MOST, required=False)
    kinds = Kinds(required=False)
    active = serializers.BooleanField(required=False)


class SecretInput(Input):
    """For how many hours the secret before signs as well: 24 unless said, 0 where it leaked."""

    both_hours = inputs.Count(least=0, default=24)


class SendingInput(Input):
    """One of them: a test, one delivery by its `no` again, or every event since then."""

    test = serializers.BooleanField(required=False)
    again = inputs.Count(required=False)
    since = Moment(required=False)


class WebhooksView(APIView):
    """The webhooks of a site, without address and secret; or one more.

    The answer says its `secret` this once. Deliveries are those of Standard Webhooks 1.0:
    `webhook-id` stays the same however often an event is sent, `webhook-signature` is
    HMAC-SHA256 by every secret that is good. `data` says what it is about by uids (`site`,
    `batch`, `fact`, `certificate`, `hold`, `dispatch`, `task`), with `position`, the entry of
    the record book, by which a receiver puts events in order. Anything but 2xx is tried again,
    ten times in three days; 410 ends the webhook.
    """

    given = WebhookInput
    keyed = False

    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.MANAGERS)
        now = clock.now(site)
        shown = [shown_webhook(one, now) for one in webhooks_of(site)]
        return Response({"webhooks": shown, "events": EVENTS, "as_of": now})

    def post(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site, access.MANAGERS)
        said, now = self.given.read(request), clock.now(site)
        row, secret = door.make_webhook(person(request), site=site, at=now, **said)
        return Response({"webhook": shown_webhook(row, now), "secret": secret})


class WebhookView(APIView):
    given = ChangeInput
    keyed = False
    versioned = False

    def get(self, request: Request, uid: UUID) -> Response:
        row = webhook_for(person(request), uid)
        return Response({"webhook": shown_webhook(row, clock.now(row.site_id))})

    def put(self, request: Request, uid: UUID) -> Response:
        """Other events, another address, no more (`active` false), or on again."""
        now = clock.now(webhook_for(person(request), uid).site_id)
        said = self.given.read(request)
        row = door.change_webhook(person(request), uid=uid, at=now, **said)
        return Response({"webhook": shown_webhook(row, now)})

    def delete(self, request: Request, uid: UUID) -> Response:
        """Take it away, with what is known of its deliveries."""
        now = clock.now(webhook_for(person(request), uid).site_id)
        door.remove_webhook(person(request), uid=uid, at=now)
        return Response({})


class SecretsView(APIView):
    given = SecretInput
    keyed = False

    def post(self, request: Request, uid: UUID) -> Response:
        """Another secret, told this once; the one before signs as well for a while."""
        now = clock.now(webhook_for(person(request), uid).site_id)
        hours = self.given.read(request)["both_hours"]
        row, secret = door.renew_secret(
            person(request), uid=uid, at=now, both=timedelta(hours=hours)
        )
        return Response({"webhook": shown_webhook(row, now), "secret": secret})


class DeliveriesView(APIView):
    """What was sent and what each try was answered, the newest first, so many at once.

    `after` is the `no` of the last one seen; then come older ones.
    """

    given = SendingInput
    keyed = False
    queries = ("after",)

    def get(self, request: Request, uid: UUID) -> Response:
        row = webhook_for(person(request), uid)
        found = deliveries_of(row, before=_after(request))
        return Response({"deliveries": [shown_delivery(one) for one in found]})

    def post(self, request: Request, uid: UUID) -> Response:
        """Send again what was sent before, under the same `webhook-id`; or send a test."""
        now = clock.now(webhook_for(person(request), uid).site_id)
        said = self.given.read(request)
        if len(said) != 1 or said.get("test") is False:
            raise Refused(refuse("unreadable", "Say test, again or since.", pointer="/"))
        if "test" in said:
            coming = int(door.test_webhook(person(request), uid=uid, at=now))
        else:
            coming = door.replay(
                person(request),
                uid=uid,
                at=now,
                delivery=said.get("again"),
                since=said.get("since"),
            )
        return Response({"coming": coming}, status=202)


def _after(request: Request) -> int | None:
    text = request.query_params.get("after")
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= DIGITS_MOST):
        raise Refused(refuse("unreadable", "Name a delivery by its no.", pointer="/after"))
    return int(text)


routes = [
    path("sites/<uuid:site>/webhooks", WebhooksView.as_view()),
    path("webhooks/<uuid:uid>", WebhookView.as_view()),
    path("webhooks/<uuid:uid>/secrets", SecretsView.as_view()),
    path("webhooks/<uuid:uid>/deliveries", DeliveriesView.as_view()),
]
