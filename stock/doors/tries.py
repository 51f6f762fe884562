"""Counting wrong tries in the database, so that neither a restart nor another process forgets.

A try is counted before the secret is looked at: who sends a hundred at once gets no further
than who sends them one by one.
"""

import hashlib
from datetime import datetime

from django.db import OperationalError, transaction

from protocols.tries import Limit, Tried, may_try, one_more
from stock.models import Attempt
from stock.refusals import Refused, refuse


def subject(*of: object) -> str:
    """What is guessed, as a digest: no address of anybody stands in the table."""
    return hashlib.sha256("/".join(map(str, of)).encode()).hexdigest()


def take(of: str, limit: Limit, at: datetime) -> int:
    """Use up one try; how many are left after it. Raises Refused (too_many, busy)."""
    try:
        with transaction.atomic():
            return _take(of, limit, at)
    except OperationalError as error:
        raise Refused(refuse("busy", "Somebody else is writing; try again.")) from error


def _take(of: str, limit: Limit, at: datetime) -> int:
    fresh = Attempt(subject=of, since=at, failed=0)
    Attempt.objects.bulk_create([fresh], ignore_conflicts=True)
    row = Attempt.objects.select_for_update().get(subject=of)
    tried = Tried(row.since, row.failed)
    if stands := may_try(tried, limit, at):
        raise Refused(*stands)
    now = one_more(tried, limit, at)
    row.since, row.failed = now.since, now.failed
    row.save(update_fields=["since", "failed"])
    return limit.most - now.failed


def is_open(of: str, limit: Limit, at: datetime) -> bool:
    """Whether there are tries left, without using one. One query."""
    row = Attempt.objects.filter(subject=of).first()
    return row is None or not may_try(Tried(row.since, row.failed), limit, at)


def forget(*of: str) -> None:
    """It was right: what was tried in vain before counts no more."""
    Attempt.objects.filter(subject__in=of).delete()


def give_back(of: str) -> None:
    """The last try was right, but others' tries are counted together with it."""
    with transaction.atomic():
        row = Attempt.objects.select_for_update().filter(subject=of, failed__gt=0).first()
        if row is not None:
            row.failed -= 1
            row.save(update_fields=["failed"])
