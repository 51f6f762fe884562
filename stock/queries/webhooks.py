"""The webhooks of a site, as managers see them: without address and secret."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.webhooks import message_id
from stock import access
from stock.models import Batch, Person, WebhookDelivery
from stock.models import Webhook as Webhook
from stock.refusals import NotFound

PAGE = 50
Delivery = WebhookDelivery


def webhook_for(person: Person, uid: UUID) -> Webhook:
    """One of a site that this person manages. Raises NotFound, Refused (wrong_role)."""
    row = Webhook.objects.filter(uid=uid).select_related("made_by").first()
    if row is None:
        raise NotFound
    access.site_for(person, row.site_id, access.MANAGERS)
    return row


def webhooks_of(site: UUID) -> list[Webhook]:
    """All of a site, by their labels. One query."""
    return list(Webhook.objects.filter(site=site).select_related("made_by").order_by("label"))


def deliveries_of(hook: Webhook, *, before: int | None = None) -> list[Delivery]:
    """Its newest deliveries, or those made before this one; the newest first. One query."""
    rows = Delivery.objects.filter(webhook=hook).select_related("event")
    if before is not None:
        rows = rows.filter(pk__lt=before)
    return list(rows.order_by("-pk")[:PAGE])


def codes_of(deliveries: Iterable[Delivery]) -> dict[str, str]:
    """The codes of the batches that these speak of, by their uids as text. One query."""
    named = {one.event.data.get("batch") for one in deliveries} - {None}
    rows = Batch.objects.filter(uid__in=named).values_list("uid", "code") if named else ()
    return {str(uid): code for uid, code in rows}


def waiting_for(hook: Webhook) -> int:
    """How many deliveries have not been taken yet and are tried again. One query."""
    under = (Delivery.WAITING, Delivery.UNDER_WAY)
    return Delivery.objects.filter(webhook=hook, state__in=under).count()


def still_signing(row: Webhook, at: datetime) -> list[dict[str, str]]:
    """The secrets before that still sign, the one that ends last behind: `sealed`, `until`."""
    found = [one for one in row.old_secrets if at < parse_utc(one["until"])]
    return sorted(found, key=lambda one: one["until"])


def shown_webhook(row: Webhook, at: datetime) -> dict[str, Any]:
    """As REST says it."""
    older = still_signing(row, at)
    return {
        "uid": str(row.uid),
        "site": str(row.site_id),
        "label": row.label,
        "host": row.host,
        "kinds": row.kinds,
        "state": row.state,
        "why": row.why or None,
        "made_at": row.made_at,
        "made_by": str(row.made_by_id),
        "ended_at": row.ended_at,
        "failing_since": row.failing_since,
        "failed_tries": row.failed_tries,
        "old_secret_until": older[-1]["until"] if older else None,
    }


def shown_delivery(row: Delivery) -> dict[str, Any]:
    """As REST says it: `at` is the next try while it waits, else when the last one was."""
    event = row.event
    return {
        "no": row.pk,
        "id": message_id(event.effect),
        "type": event.kind,
        "happened_at": event.happened_at,
        "data": event.data,
        "state": row.state,
        "tries": row.tries,
        "at": row.at,
        "answers": row.answers,
    }
