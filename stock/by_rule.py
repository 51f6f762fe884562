"""What the service tells by itself, because a rule says so; nobody's hands, nobody's word.

The uid of such a fact follows from its cause, so that two who find the same tell it once.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.codes import fact_uid
from protocols.issuing import STANDING, cause_of, step_by_rule
from protocols.judged import Judgement
from protocols.said import said
from protocols.shared_tanks import CLEAN, UNTREATED
from stock import ledger
from stock.apply import apply_then_parked
from stock.ledger import Told
from stock.models import Certificate, Container, Kin, Log, StayRow, System
from stock.queries.certificates import Worth, parts_of, worth_of
from stock.queries.shared_tanks import is_safe, left_already, unclean_stays
from stock.webhooks import tell_events

ENDED = "certificate_ended"
LINEAGE = ("parent", "ancestor")
WATER = "They stand in water of system {system}, which nobody calls clean."
NOTHING_OPEN = "Nothing that is open stands against it any more."


def follow_rules(log: Log, judged: Mapping[UUID, Judgement], at: datetime) -> None:
    """What follows by rule for systems and certificates once these batches were judged.

    Under the lock of the site. Three queries where no system and no certificate is concerned.
    """
    if not log.is_of_site or not judged:
        return
    sharing = _follow_systems(log, judged, at)
    _follow_certificates(log, {*judged, *sharing}, at)


def _follow_systems(log: Log, judged: Mapping[UUID, Judgement], at: datetime) -> set[UUID]:
    """Animals that are not safe end the status of the water they share; whoever shares it."""
    standing = {
        stay.container: one for one in judged.values() if (stay := one.open_stay) is not None
    }
    rows = Container.objects.filter(uid__in=standing, system__status=CLEAN)
    ended: set[UUID] = set()
    for row in rows.select_related("system").order_by("uid"):
        judgement, system = standing[row.uid], row.system
        if system is None or system.uid in ended or is_safe(judgement, _family(judgement), at):
            continue
        ended.add(system.uid)
        _end_status(log, system, judgement, at)
    there = StayRow.objects.filter(container__system__in=ended, ended_latest=None)
    return set(there.values_list("batch", flat=True)) if ended else set()


def _family(judgement: Judgement) -> set[UUID]:
    before = Kin.objects.filter(batch=judgement.batch, how__in=LINEAGE)
    return {judgement.batch, *before.values_list("of", flat=True)}


def _end_status(log: Log, system: System, judgement: Judgement, at: datetime) -> None:
    stay = judgement.open_stay
    assert stay is not None
    body = {"system": system.uid, "label": system.label, "status": UNTREATED}
    uid = fact_uid(stay.uid, "system_set", f"{system.uid}/{system.version}")
    told, since = Told("system_set", body, uid=uid), min(stay.began.latest, at)
    apply_then_parked(ledger.append(log, ledger.by_the_service(at, since), told))


def _follow_certificates(log: Log, judged: set[UUID], at: datetime) -> None:
    """Suspend certificates that bad news stands against, and lift those where it is decided.

    A certificate speaks of the batch that it was issued for and of all that came out of it.
    For those of them that left certified conditions it ends.
    """
    came_from = Kin.objects.filter(batch__in=judged, how__in=LINEAGE)
    batches = judged | set(came_from.values_list("of", flat=True))
    rows = Certificate.objects.filter(batch__in=batches, state__in=STANDING)
    for row in rows.order_by("version", "uid"):
        _end_for_those_who_left(log, row, at)
        if row.state not in STANDING:
            continue
        worth = worth_of(row, at)
        step = step_by_rule(worth.told, worth.news)
        if step is not None:
            _tell(log, row, step, worth, at)


def _end_for_those_who_left(log: Log, row: Certificate, at: datetime) -> None:
    """For animals in water that nobody calls clean; those of each batch once."""
    parts = parts_of(row.batch_id, row.count, left_already(row))
    for one in unclean_stays(parts, at):
        if one.batch not in parts or (one.until is not None and one.until <= row.issued_at):
            continue
        text = said(WATER, system=one.system.label)
        body: dict[str, Any] = {
            "certificate": row.uid,
            "batch": row.batch_id,
            "count": parts.pop(one.batch),
            "cause": text,
            "by": one.batch,
            "by_rule": True,
        }
        told = Told(ENDED, body, uid=fact_uid(one.batch, ENDED, str(row.uid)))
        since = min(max(one.since, row.issued_at), at)
        fact = ledger.append(log, ledger.by_the_service(at, since), told)
        tell_events(log, (fact, *apply_then_parked(fact)), at)
        row.refresh_from_db()


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
    fact = ledger.append(log, ledger.by_the_service(at), told)
    tell_events(log, (fact, *apply_then_parked(fact)), at)
