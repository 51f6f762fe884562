"""Parked reports as somebody settled them: their animals count for the batches named."""

from uuid import UUID

from protocols.amended import in_force
from protocols.settling import fate_of
from stock.apply.animals import tell_settled
from stock.apply.registry import applies
from stock.apply.words import value_of, words_about
from stock.models import Batch, Fact, Parked, StayRow
from stock.refusals import CannotApply, not_here, refuse


@applies("parked_settled")
def settle(fact: Fact) -> list[Fact]:
    """The report stays as it was told. What it does to the counts is said by this fact."""
    report = _waiting(fact)
    body = in_force(value_of(report), words_about([report.uid])) or {}
    parts = {UUID(one["batch"]) for one in fact.body.get("attribution") or ()}
    if parts and fate_of(report.kind, body) is None:
        raise CannotApply(refuse("contradicts_record", "Nobody is gone by such a report."))
    if Batch.objects.filter(uid__in=parts, site=fact.log_id).count() < len(parts):
        raise not_here("batch")
    if not parts and StayRow.objects.filter(ended_by=report.uid).exists():
        text = "Animals were put in by it: take back the move that put them there first."
        raise CannotApply(refuse("contradicts_record", text))
    Parked.objects.filter(fact=report).update(settled_by=fact.uid)
    return tell_settled(fact)


def _waiting(fact: Fact) -> Fact:
    """The report that is settled, which did not fit and which nobody settled before."""
    found = Parked.objects.filter(
        fact=fact.body["of"], site=fact.log_id, settled_by=None
    ).select_related("fact")
    row = found.first()
    if row is None:
        raise CannotApply(refuse("contradicts_record", "It does not wait for a settlement."))
    return row.fact
