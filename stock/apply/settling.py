"""Parked reports as somebody settled them: their animals count for the batches named."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from protocols import codes
from protocols.amended import in_force
from protocols.settling import fate_of
from stock.apply.closing import close_if_nobody_is_left
from stock.apply.counts import Going, Spot, transfer
from stock.apply.registry import applies, moment
from stock.apply.words import value_of, words_about
from stock.models import Batch, Fact, Loss, Parked, StayRow
from stock.refusals import CannotApply, not_here, refuse


@applies("parked_settled")
def settle(fact: Fact) -> None:
    """The report stays as it was told. What it does to the counts is said by this fact."""
    report = _waiting(fact)
    body = in_force(value_of(report), words_about([report.uid])) or {}
    parts = fact.body.get("attribution") or []
    fate = fate_of(report.kind, body) if parts else None
    if parts and fate is None:
        raise CannotApply(refuse("contradicts_record", "Nobody is gone by such a report."))
    if fate is not None:
        _count_for(fact, report, body, fate)
    elif StayRow.objects.filter(ended_by=report.uid).exists():
        text = "Animals were put in by it: take back the move that put them there first."
        raise CannotApply(refuse("contradicts_record", text))
    Parked.objects.filter(fact=report).update(settled_by=fact.uid)


def stands_as_settled(report: Fact) -> None:
    """Words about a settled report come too late: the settlement says what counts."""
    by = Parked.objects.filter(fact=report).values("settled_by")
    if Fact.objects.filter(uid__in=by, kind="parked_settled").exists():
        text = "Somebody settled this report: what was wrong with it is told anew."
        raise CannotApply(refuse("contradicts_record", text))


def _waiting(fact: Fact) -> Fact:
    """The report that is settled, which did not fit and which nobody settled before."""
    found = Parked.objects.filter(
        fact=fact.body["of"], site=fact.log_id, settled_by=None
    ).select_related("fact")
    row = found.first()
    if row is None:
        raise CannotApply(refuse("contradicts_record", "It does not wait for a settlement."))
    return row.fact


def _count_for(fact: Fact, report: Fact, body: Mapping[str, Any], fate: str) -> None:
    """As of when the report says; one transfer and one loss for each batch."""
    parts = {UUID(one["batch"]): one["count"] for one in fact.body["attribution"]}
    batches = {row.uid: row for row in Batch.objects.filter(uid__in=parts, site=fact.log_id)}
    if len(batches) < len(fact.body["attribution"]):
        raise not_here("batch")
    transfer(
        fact,
        *(Going(Spot(uid, "alive"), Spot(uid, fate), n) for uid, n in parts.items()),
        at=report.performed_at,
    )
    for uid, count in parts.items():
        _lose(fact, report, body, batches[uid], count, fate)
        close_if_nobody_is_left(batches[uid])


def _lose(
    fact: Fact, report: Fact, body: Mapping[str, Any], batch: Batch, count: int, fate: str
) -> None:
    """The row beside the transfer. Lines that the report names are those of its own batch."""
    found_at, seen = body.get("found_at"), body.get("last_seen_at")
    own = body.get("batch") == str(batch.uid)
    Loss.objects.create(
        fact=codes.fact_uid(fact.uid, "loss_recorded", batch.uid),
        batch=batch,
        fate=fate,
        count=count,
        cause=body.get("cause", []),
        certainty=body.get("certainty"),
        found_at=moment(found_at) if found_at else report.performed_at,
        last_seen_at=moment(seen) if seen else None,
        presumed=fate == "presumed_lost",
        origin=body.get("origin", []) if own else [],
        incident=body.get("incident"),
    )
