"""Telling another program of events: set up, changed, tested, ended by managers. No facts.

Where it leads and what signs is sealed; a secret is told once, to whoever made it.
"""

import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet

from protocols import webhooks
from protocols.clocks import utc_text
from protocols.said import said
from protocols.values import Reason
from protocols.webhooks import BOTH_MOST, BOTH_SECRETS, SECRET_BYTES, TEST, secret_of
from stock import access, names, webhook_sending
from stock.doors.files import keeping
from stock.models import Person, WebhookDelivery, WebhookEvent
from stock.models import Webhook as Webhook
from stock.queries.webhooks import still_signing, webhook_for
from stock.refusals import NotFound, Refused, label_taken, refuse
from stock.sealing import OF_WEBHOOKS, seal

WEBHOOKS_MOST, OLD_MOST = 10, 5
State = WebhookDelivery


def make_webhook(
    person: Person, *, site: UUID, label: str, address: str, kinds: Sequence[str], at: datetime
) -> tuple[Webhook, str]:
    """Tell this address of these events from now on; the secret is told this once.

    Raises NotFound, Refused (unreadable, label_taken, contradicts_record).
    """
    access.site_for(person, site, access.MANAGERS)
    secret = _new_secret()
    with keeping(site, at):
        held = Webhook.objects.filter(site=site)
        wrong = [*_faults(address, kinds)]
        if held.filter(label=label).exists():
            wrong.append(label_taken(label))
        if held.count() >= WEBHOOKS_MOST:
            text = said("At most {most} webhooks; take one away first.", most=WEBHOOKS_MOST)
            wrong.append(refuse("contradicts_record", text))
        if wrong:
            raise Refused(*wrong)
        row = Webhook(
            uid=names.new_uid(at),
            site_id=site,
            label=label,
            secret=seal(secret, OF_WEBHOOKS),
            kinds=_in_order(kinds),
            made_by=person,
            made_at=at,
        )
        _lead_to(row, address)
        row.save(force_insert=True)
    return row, secret


def change_webhook(
    person: Person,
    *,
    uid: UUID,
    at: datetime,
    kinds: Sequence[str] | None = None,
    address: str | None = None,
    active: bool | None = None,
) -> Webhook:
    """Tell it of other events from now on, or another address, or nothing more, or go on.

    What is not said stays. What it missed while it was ended is sent when `replay` asks for it.
    Raises NotFound, Refused (wrong_role, unreadable).
    """
    row = webhook_for(person, uid)
    with keeping(row.site_id, at):
        row = _again(uid)
        if wrong := [*_faults(address, kinds)]:
            raise Refused(*wrong)
        if kinds is not None:
            row.kinds = _in_order(kinds)
        if address is not None:
            _lead_to(row, address)
        row.save(update_fields=["kinds", "address", "host"])
        if active is False:
            webhook_sending.end(row, "by_hand", at)
        elif active:
            Webhook.objects.filter(uid=uid, state=Webhook.ENDED).update(
                state=Webhook.ACTIVE, why="", ended_at=None, failing_since=None, failed_tries=0
            )
    return _again(uid)


def renew_secret(
    person: Person, *, uid: UUID, at: datetime, both: timedelta = BOTH_SECRETS
) -> tuple[Webhook, str]:
    """Another secret, told this once; the one before signs as well for so long, 7 days at most.

    Made twice in a row, all of them sign; for no time at all, none but the new one does.
    Raises NotFound, Refused (wrong_role, unreadable).
    """
    if both > BOTH_MOST:
        text = "Both secrets sign for 168 hours at most."
        raise Refused(refuse("unreadable", text, pointer="/both_hours"))
    row = webhook_for(person, uid)
    secret = _new_secret()
    with keeping(row.site_id, at):
        row = _again(uid)
        before = {"sealed": row.secret, "until": utc_text(at + both)}
        row.old_secrets = [*still_signing(row, at), before][-OLD_MOST:] if both else []
        row.secret = seal(secret, OF_WEBHOOKS)
        row.save(update_fields=["secret", "old_secrets"])
    return row, secret


def remove_webhook(person: Person, *, uid: UUID, at: datetime) -> None:
    """Take it away, with its address, its secrets, and what is known of its deliveries."""
    row = webhook_for(person, uid)
    with keeping(row.site_id, at):
        row.delete()


def test_webhook(person: Person, *, uid: UUID, at: datetime) -> bool:
    """Let one test be sent, to see whether it arrives; one at a time, and tried once.

    False where one is on its way already.
    """
    row = webhook_for(person, uid)
    with keeping(row.site_id, at):
        coming = WebhookDelivery.objects.filter(
            webhook=row, event__kind=TEST, state__in=(State.WAITING, State.UNDER_WAY)
        )
        if coming.exists():
            return False
        event = WebhookEvent.objects.create(
            effect=f"{TEST}:{names.new_uid(at)}",
            site_id=row.site_id,
            kind=TEST,
            data={"site": str(row.site_id), "webhook": str(uid)},
            happened_at=at,
            made_at=at,
        )
        WebhookDelivery.objects.create(webhook=row, event=event, at=at)
    return True


def replay(
    person: Person,
    *,
    uid: UUID,
    at: datetime,
    delivery: int | None = None,
    since: datetime | None = None,
) -> int:
    """Send one delivery again, or every event since then that it wants; how many those are.

    Each keeps its name, by which the receiver knows what it has. What is on its way already
    is not sent twice. Raises NotFound, Refused (contradicts_record) where it is ended.
    """
    row = webhook_for(person, uid)
    with keeping(row.site_id, at):
        row = _again(uid)
        if row.state != Webhook.ACTIVE:
            raise Refused(
                refuse("contradicts_record", "This webhook is ended. Go on with it first.")
            )
        known = WebhookDelivery.objects.filter(webhook=row)
        if delivery is not None:
            known = known.filter(pk=delivery)
            if not known.exists():
                raise NotFound
            return _anew(known, at)
        events = WebhookEvent.objects.filter(site=row.site_id, kind__in=row.kinds)
        events = events.filter(made_at__gte=since or at)
        anew = _anew(known.filter(event__in=events), at)
        missed = events.exclude(deliveries__webhook=row).order_by("pk")
        made = WebhookDelivery.objects.bulk_create(
            (WebhookDelivery(webhook=row, event=one, at=at) for one in missed), batch_size=500
        )
        return anew + len(made)


def _anew(rows: QuerySet[WebhookDelivery], at: datetime) -> int:
    there = rows.exclude(state__in=(State.WAITING, State.UNDER_WAY))
    return there.update(state=State.WAITING, tries=0, at=at)


def _again(uid: UUID) -> Webhook:
    """As it is now: somebody may have taken it away before the lock was ours."""
    row = Webhook.objects.filter(uid=uid).first()
    if row is None:
        raise NotFound
    return row


def _faults(address: str | None, kinds: Sequence[str] | None) -> list[Reason]:
    wrong: list[Reason] = []
    if address is not None:
        inside = settings.PRIVATE_ADDRESSES
        wrong += webhooks.faults(address.strip(), private_allowed=inside, at="/address")
    if kinds is not None and (not kinds or webhooks.unknown(kinds)):
        text = said("Choose among {kinds}.", kinds=", ".join(webhooks.EVENTS))
        wrong.append(refuse("unreadable", text, pointer="/kinds"))
    return wrong


def _lead_to(row: Webhook, address: str) -> None:
    parts = webhooks.parted(address.strip())
    row.host = parts.netloc if parts else ""
    row.address = seal(address.strip(), OF_WEBHOOKS)


def _in_order(kinds: Sequence[str]) -> list[str]:
    return [one for one in webhooks.EVENTS if one in kinds]


def _new_secret() -> str:
    return secret_of(secrets.token_bytes(SECRET_BYTES))
