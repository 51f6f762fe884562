"""Legal holds into rows. What was erased leaves none: texts are no projection."""

from stock.apply.registry import applies
from stock.models import Fact, LegalHoldRow
from stock.refusals import not_here


@applies("legal_hold_placed")
def place(fact: Fact) -> None:
    LegalHoldRow.objects.create(
        uid=fact.body["legal_hold"],
        site_id=fact.log_id,
        fact=fact.uid,
        batches=fact.body["batches"],
        at=fact.performed_at,
    )


@applies("legal_hold_lifted")
def lift(fact: Fact) -> None:
    rows = LegalHoldRow.objects.filter(uid=fact.body["legal_hold"], site=fact.log_id)
    if not rows.update(lifted_at=fact.performed_at):
        raise not_here("legal hold")


@applies("texts_erased", "name_erased")
def note(fact: Fact) -> None:
    """Found by the uids that it names, as every fact is."""
