"""Visits that are over: the service closes them, so that what was shown is in the record."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from protocols.codes import fact_uid
from protocols.visits import digest_of
from stock import ledger, lock
from stock.apply import apply
from stock.ledger import Told
from stock.models import Visit
from stock.queries.visits import pages_of


def closing(visit: Visit) -> Told:
    """How many pages were shown, and the digest of their list; one fact for each visit."""
    pages = pages_of(visit)
    body = {"visit": visit.uid, "shown": len(pages), "sha256": digest_of(pages)}
    return Told("visit_closed", body, uid=fact_uid(visit.uid, "visit_closed", visit.uid))


def close_over(site: UUID, at: datetime) -> list[str]:
    """Close the visits whose time is over; which ones. One query where there is none."""
    over = Visit.objects.filter(site=site, closed_at=None, ends_at__lte=at)
    if not over.exists():
        return []
    closed = []
    with transaction.atomic():
        log = lock.take(site)
        for visit in over.order_by("ends_at", "uid"):
            apply(ledger.append(log, ledger.by_the_service(at), closing(visit)))
            Visit.objects.filter(uid=visit.uid).update(closed_at=at, session=None)
            closed.append(str(visit.uid))
    return closed
