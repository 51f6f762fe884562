"""Signs, holds, decisions and words about earlier facts. Most of it only judges need."""

from stock.apply.losses import batch_of
from stock.apply.registry import applies
from stock.models import Fact, HoldRow, Sign
from stock.refusals import CannotApply, refuse


@applies("sign_seen")
def see_sign(fact: Fact) -> None:
    Sign.objects.create(
        fact=fact.uid,
        batch=batch_of(fact),
        signs=fact.body["signs"],
        affected=fact.body["affected"],
        at=fact.performed_at,
        state="open",
    )


@applies("confirmed")
def confirm(fact: Fact) -> None:
    _told(fact)
    Sign.objects.filter(fact=fact.body["of"]).update(state="confirmed")


@applies("fact_withdrawn")
def withdraw(fact: Fact) -> None:
    _told(fact)
    Sign.objects.filter(fact=fact.body["of"]).update(state="withdrawn")


@applies("fact_corrected", "fact_contradicted")
def say_of_another(fact: Fact) -> None:
    """The judge reads it beside the fact it is about; no row changes."""
    _told(fact)


@applies("hold_placed")
def place_hold(fact: Fact) -> None:
    batch = batch_of(fact)
    HoldRow.objects.create(
        fact=fact.uid, batch=batch, why=fact.body["why"], at=fact.performed_at
    )


@applies("hold_lifted")
def lift_hold(fact: Fact) -> None:
    found = HoldRow.objects.filter(
        fact=fact.body["hold"], batch__site=fact.log_id, lifted_at=None
    )
    if not found.update(lifted_at=fact.performed_at):
        raise CannotApply(refuse("contradicts_record", "There is no such hold to lift."))


@applies("deviation_decided")
def decide(fact: Fact) -> None:
    """The judge weighs a decision against the numbers; the row follows its judgement."""
    batch_of(fact)


@applies("incident_recorded", "contact_seen")
def note(fact: Fact) -> None:
    """Found by its subjects; the batches it touches are judged again."""


def _told(fact: Fact) -> None:
    """The fact this one is about must be in the same record book."""
    if not Fact.objects.filter(uid=fact.body["of"], log=fact.log_id).exists():
        raise CannotApply(refuse("not_found", "There is no such fact here."))
