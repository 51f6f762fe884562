"""Sending events to webhooks: tried again with back-off, ended where nothing is taken.

A try is marked before it begins, so no two processes make the same one. If the process dies
meanwhile it is made again under the same name, by which a receiver knows it: an event that is
missed is worse than one that comes twice. What was taken is not sent again by itself.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q, QuerySet

from protocols import webhooks
from protocols.clocks import utc_text
from stock.models import Role, Webhook, WebhookDelivery, WebhookEvent
from stock.outbox import Telling, leave
from stock.posting import Posted, post
from stock.queries.webhooks import still_signing
from stock.sealing import OF_WEBHOOKS, unseal

AT_ONCE = 20
TURN, PAUSE = timedelta(seconds=20), timedelta(minutes=1)
ANSWERS_KEPT = 20


def deliver_due(
    at: datetime, *, site: UUID | None = None, now: Callable[[], datetime] | None = None
) -> int:
    """Send what is due at `at`, of all sites or of one; how many deliveries were taken.

    `now` tells the moment of each try, since a receiver refuses what is minutes old; else all
    are made at `at`. Any number of processes may do so at once. No network is spoken to inside
    a transaction. A webhook that is slow or does not answer keeps the others back only a while.
    """
    rows = WebhookDelivery.objects.all()
    if site is not None:
        rows = rows.filter(webhook__site=site)
    _take_back_lost(rows, at)
    wanted = Q(webhook__state=Webhook.ACTIVE) | Q(event__kind=webhooks.TEST)
    due = rows.filter(wanted, state=WebhookDelivery.WAITING, at__lte=at)
    hooks = list(due.order_by("webhook").values_list("webhook", flat=True).distinct())
    moment = now or (lambda: at)
    return sum(_deliver_to(due.filter(webhook=one), moment) for one in hooks)


def forget_old(site: UUID, at: datetime) -> None:
    """Events, with their deliveries, that cannot be sent again any more."""
    WebhookEvent.objects.filter(site=site, made_at__lte=at - webhooks.KEPT).delete()


def _deliver_to(due: QuerySet[WebhookDelivery], now: Callable[[], datetime]) -> int:
    """One turn of one webhook, over at the first that is not taken or when it took long."""
    taken, began = 0, now()
    for pk in list(due.order_by("event", "pk").values_list("pk", flat=True)[:AT_ONCE]):
        came = _deliver(pk, at := now())
        taken += came is True
        if came is False or at - began >= TURN:
            break
    return taken


def _deliver(pk: int, at: datetime) -> bool | None:
    """Claim one, send it, keep what came of it; None where another process has it."""
    # Durable: it raises where a transaction is open, inside which nothing may be sent.
    with transaction.atomic(durable=True):
        mine = WebhookDelivery.objects.filter(pk=pk, state=WebhookDelivery.WAITING, at__lte=at)
        if not mine.update(state=WebhookDelivery.UNDER_WAY, tries=F("tries") + 1, at=at):
            return None
    one = WebhookDelivery.objects.select_related("webhook", "event").filter(pk=pk).first()
    if one is None:  # taken away meanwhile
        return None
    came = _posted(one, at)
    with transaction.atomic():
        _keep(one, came, at)
    return webhooks.is_taken(came.status)


def _posted(one: WebhookDelivery, at: datetime) -> Posted:
    hook, event = one.webhook, one.event
    address = unseal(hook.address, OF_WEBHOOKS)
    sealed = [hook.secret, *(one["sealed"] for one in still_signing(hook, at))]
    secrets = [secret for text in sealed if (secret := unseal(text, OF_WEBHOOKS))]
    if address is None or not secrets:
        return Posted(why="sealed")
    body = webhooks.body_of(event.kind, event.happened_at, event.data)
    headers = webhooks.headers_of(webhooks.message_id(event.effect), at, body, secrets)
    return post(address, headers, body, private_allowed=settings.PRIVATE_ADDRESSES)


def _keep(one: WebhookDelivery, came: Posted, at: datetime) -> None:
    """Keep what came of a try; one that another process took back meanwhile stays so."""
    taken = webhooks.is_taken(came.status)
    again = None if taken or one.event.kind == webhooks.TEST else _again(one, came, at)
    state = WebhookDelivery.TAKEN if taken else WebhookDelivery.FAILED
    if again is not None:
        state = WebhookDelivery.WAITING
    answer = {"at": utc_text(at), "status": came.status, "why": came.why}
    mine = WebhookDelivery.objects.filter(
        pk=one.pk, state=WebhookDelivery.UNDER_WAY, tries=one.tries
    )
    answers = [*one.answers, answer][-ANSWERS_KEPT:]
    if mine.update(state=state, at=again or at, answers=answers):
        _note(one, came, taken=taken, at=at)


def _again(one: WebhookDelivery, came: Posted, at: datetime) -> datetime | None:
    """After its back-off, or later where the receiver asks to be left alone for longer."""
    later = webhooks.next_try(one.tries, at)
    return later and max(later, at + timedelta(seconds=came.wait_s))


def _note(one: WebhookDelivery, came: Posted, *, taken: bool, at: datetime) -> None:
    """What the try says of the webhook; a test that fails says nothing.

    While it takes nothing, what was not tried yet waits, so that nobody is held up by it event
    by event. Once it takes something again, the others go at once.
    """
    hook = Webhook.objects.filter(pk=one.webhook_id)
    waiting = WebhookDelivery.objects.filter(
        webhook=one.webhook_id, state=WebhookDelivery.WAITING, tries=0
    )
    if taken:
        failed = hook.exclude(failing_since=None)
        if failed.update(failing_since=None, failed_tries=0):
            waiting.update(at=at)
        return
    if came.status == webhooks.GONE:
        end(one.webhook, "gone", at)
        return
    if one.event.kind == webhooks.TEST:
        return
    waiting.filter(at__lt=at + PAUSE).update(at=at + PAUSE)
    hook.filter(failing_since=None).update(failing_since=at)
    hook.update(failed_tries=F("failed_tries") + 1)
    since, tries = hook.values_list("failing_since", "failed_tries").get()
    if since is not None and webhooks.is_over(since, tries, at):
        end(one.webhook, "failing", at)


def end(hook: Webhook, why: str, at: datetime) -> bool:
    """End a webhook: nothing goes there until somebody goes on with it. Managers are told
    where nobody ended it by hand. False where it was ended before."""
    mine = Webhook.objects.filter(pk=hook.pk, state=Webhook.ACTIVE)
    if not mine.update(state=Webhook.ENDED, why=why, ended_at=at):
        return False
    waiting = WebhookDelivery.objects.filter(webhook=hook, state=WebhookDelivery.WAITING)
    waiting.exclude(event__kind=webhooks.TEST).update(state=WebhookDelivery.ENDED, at=at)
    if why != "by_hand":
        managers = Role.objects.filter(site=hook.site_id, role="manager")
        to = sorted({str(one) for one in managers.values_list("person", flat=True)})
        body = {"place": hook.label, "why": why, "to": to, "cause": str(hook.uid)}
        effect = f"webhook_ended:{hook.uid}:{utc_text(at)}"
        leave(hook.site_id, Telling(effect, "webhook_ended", body), at)
    return True


def _take_back_lost(rows: QuerySet[WebhookDelivery], at: datetime) -> None:
    lost = rows.filter(state=WebhookDelivery.UNDER_WAY, at__lte=at - webhooks.LOST_AFTER)
    for one in lost:
        again = webhooks.next_try(one.tries, at)
        answer = {"at": utc_text(at), "status": None, "why": "lost"}
        WebhookDelivery.objects.filter(pk=one.pk, state=one.state, tries=one.tries).update(
            state=WebhookDelivery.WAITING if again else WebhookDelivery.FAILED,
            at=at,
            answers=[*one.answers, answer][-ANSWERS_KEPT:],
        )
