"""What has to be told: left with the change, sent afterwards; to people, and to programs."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.webhooks import Event
from stock.models import Notice, Webhook, WebhookDelivery, WebhookEvent


@dataclass(frozen=True, slots=True)
class Telling:
    """One notice. What is told under one `effect` is told once, however often it is left."""

    effect: str
    kind: str
    body: Mapping[str, Any]


def leave(site: UUID, telling: Telling, at: datetime) -> bool:
    """Leave a notice; False where it was left before."""
    _, is_new = Notice.objects.get_or_create(
        effect=telling.effect,
        defaults={
            "site": site,
            "kind": telling.kind,
            "body": dict(telling.body),
            "made_at": at,
        },
    )
    return is_new


def leave_event(site: UUID, event: Event, at: datetime) -> bool:
    """Leave an event for every webhook of a site that wants it; False where it was left before.

    One query where a site has no webhook: then nothing is kept.
    """
    hooks = list(Webhook.objects.filter(site=site))
    if not hooks:
        return False
    row, is_new = WebhookEvent.objects.get_or_create(
        effect=event.effect,
        defaults={
            "site_id": site,
            "kind": event.type,
            "data": dict(event.data),
            "happened_at": event.happened_at,
            "made_at": at,
        },
    )
    if is_new:
        WebhookDelivery.objects.bulk_create(
            WebhookDelivery(webhook=one, event=row, at=at)
            for one in hooks
            if one.state == Webhook.ACTIVE and event.type in one.kinds
        )
    return is_new
