"""What the service tells by itself, because a rule says so; nobody's hands, nobody's word.

The uid of such a fact follows from its cause, so that two who find the same tell it once.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.codes import SERVICE, fact_uid
from protocols.issuing import STANDING, cause_of, step_by_rule
from protocols.values import Standing
from stock import ledger, names
from stock.apply import apply_then_parked
from stock.ledger import Envelope, Told
from stock.models import Certificate, Kin, Log
from stock.queries.certificates import Worth, worth_of
from stock.webhooks import tell_events

NOTHING_OPEN = "Nothing that is open stands against it any more."


def follow_certificates(log: Log, judged: Iterable[UUID], at: datetime) -> None:
    """Suspend certificates that bad news stands against, and lift those where it is decided.

    Under the lock of the site, after these batches were judged. A certificate speaks of the
    batch that it was issued for and of all that came out of it. Two queries where none stands.
    """
    batches = set(judged)
    if not log.is_of_site or not batches:
        return
    came_from = Kin.objects.filter(batch__in=batches, how__in=("parent", "ancestor"))
    batches |= set(came_from.values_list("of", flat=True))
    rows = Certificate.objects.filter(batch__in=batches, state__in=STANDING)
    for row in rows.order_by("version", "uid"):
        worth = worth_of(row, at)
        step = step_by_rule(worth.told, worth.news)
        if step is not None:
            _tell(log, row, step, worth, at)


def _tell(log: Log, row: Certificate, step: str, worth: Worth, at: datetime) -> None:
    cause, text = worth.told.cause or row.batch_id, NOTHING_OPEN
    if step == "certificate_suspended":
        cause, text = cause_of(worth.news, row.batch_id)
    # The same cause may come back after it was decided: then it is told again.
    time = row.events.count()
    body: dict[str, Any] = {
        "certificate": row.uid,
        "batch": row.batch_id,
        "cause": text,
        "by": cause,
        "by_rule": True,
    }
    told = Told(step, body, uid=fact_uid(cause, step, f"{row.uid}/{time}"))
    fact = ledger.append(log, _by_the_service(at), told)
    tell_events(log, (fact, *apply_then_parked(fact)), at)


def _by_the_service(at: datetime) -> Envelope:
    return Envelope(
        doer=SERVICE,
        messenger=SERVICE,
        performed_at=at,
        offset_min=0,
        recorded_at=at,
        standing=Standing.HAPPENED,
        group=names.new_uid(at),
    )
