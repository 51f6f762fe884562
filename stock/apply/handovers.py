"""What one shift leaves to the next, who has read it, and what was taken away."""

from stock.apply.registry import applies
from stock.models import Fact, Handover, HandoverReading
from stock.refusals import not_here


@applies("shift_handed_over")
def hand_over(fact: Fact) -> None:
    body = fact.body
    Handover.objects.create(
        fact=fact.uid,
        site_id=fact.log_id,
        by=fact.doer,
        at=fact.performed_at,
        open=body["open"],
        late=body["late"],
        taken=body["taken"],
        closed=body["closed"],
    )


@applies("handover_read")
def read(fact: Fact) -> None:
    """Who reads it twice has read it; the first time counts."""
    found = Handover.objects.filter(fact=fact.body["handover"], site=fact.log_id).first()
    if found is None:
        raise not_here("handover")
    if not found.readings.filter(by=fact.doer).exists():
        HandoverReading.objects.create(
            fact=fact.uid, handover=found, by=fact.doer, at=fact.performed_at
        )


@applies("export_made")
def take_away(fact: Fact) -> None:
    """That records were taken away stands in the record book; nothing follows from it."""
