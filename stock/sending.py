"""Sending calls to people's addresses: each once, tried again with back-off where it failed.

A try is marked before it begins. If the process dies meanwhile, nobody knows whether it
arrived; it is not sent again, and the page of calls says so.
"""

from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils import translation

from protocols import calls
from stock.delivering import deliver
from stock.models import Sending, Site
from stock.queries.call_words import message_of, test_message
from stock.queries.calls import items_worth_telling
from stock.sealing import unseal

AT_ONCE = 50


def send_due(at: datetime, *, site: UUID | None = None) -> int:
    """Send what is due at `at`, of all sites or of one; how many calls left the house.

    Any number of processes may do so at once. No network is spoken to inside a transaction.
    """
    rows = Sending.objects.all()
    if site is not None:
        rows = rows.filter(call__site=site)
    lost = rows.filter(state=Sending.UNDER_WAY, at__lt=at - calls.LOST_AFTER)
    lost.update(state=Sending.UNKNOWN, why="begun and never ended")
    due = rows.filter(state=Sending.WAITING, at__lte=at).order_by("at", "pk")
    return sum(_send(pk, at) for pk in list(due.values_list("pk", flat=True)[:AT_ONCE]))


def _send(pk: int, at: datetime) -> bool:
    """Claim one, look whether it is still true, send it, keep what came of it."""
    # Durable: it raises where a transaction is open, inside which nothing may be sent.
    with transaction.atomic(durable=True):
        mine = Sending.objects.filter(pk=pk, state=Sending.WAITING, at__lte=at)
        if not mine.update(state=Sending.UNDER_WAY, tries=F("tries") + 1, at=at):
            return False
    one = Sending.objects.select_related("call", "address__person").get(pk=pk)
    with translation.override(one.address.person.language or settings.LANGUAGE_CODE):
        return _tell(one, at)


def _tell(one: Sending, at: datetime) -> bool:
    message = test_message()
    if one.call is not None:
        zone = Site.objects.values_list("zone", flat=True).get(uid=one.call.site)
        items, why = items_worth_telling(one.call, at)
        if not items:
            _end(one, Sending.DROPPED, why, at)
            return False
        message = message_of(one.call, items, ZoneInfo(zone))
    address = unseal(one.address.sealed)
    if address is None:
        _end(one, Sending.FAILED, "the address has to be given again", at)
        return False
    wrong = deliver(address, *message)
    if not wrong:
        _end(one, Sending.SENT, "", at)
        return True
    again = calls.next_try(one.tries, at)
    _end(one, Sending.WAITING if again else Sending.FAILED, wrong, again or at)
    return False


def _end(one: Sending, state: str, why: str, at: datetime) -> None:
    """Keep what came of a try; one that another process gave up meanwhile stays so."""
    mine = Sending.objects.filter(pk=one.pk, state=Sending.UNDER_WAY, tries=one.tries)
    mine.update(state=state, why=why, at=at)
