"""Signs, holds, decisions and words about earlier facts. Most of it only judges need."""

from collections.abc import Iterable
from uuid import UUID

from stock.apply.amending_water import amend_water
from stock.apply.animals import tell_word
from stock.apply.batches_here import batch_of
from stock.apply.fitted import amend_fittings
from stock.apply.mixing import amend_mixing
from stock.apply.registry import applies
from stock.apply.words import report_of
from stock.models import (
    Batch,
    Container,
    Fact,
    HoldRow,
    Instrument,
    Kit,
    Piece,
    Sign,
    SiteThing,
    StayRow,
)
from stock.queries.accounts import accounts_of_stay
from stock.refusals import CannotApply, not_here, refuse

# What can touch, or be touched.
TOUCHED: tuple[type[Batch | SiteThing], ...] = (Batch, Container, Kit, Piece, Instrument)


@applies("counted")
def count(fact: Fact) -> None:
    """A count changes no balance: where it differs, that is a question for a person."""
    batch_of(fact)


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
def confirm(fact: Fact) -> list[Fact]:
    _told(fact)
    Sign.objects.filter(fact=fact.body["of"]).update(state="confirmed")
    return _amend(fact)


@applies("fact_withdrawn")
def withdraw(fact: Fact) -> list[Fact]:
    _told(fact)
    if Fact.objects.filter(uid=fact.body["of"], kind="account_decided").exists():
        text = "Counts rest on this decision: decide anew which account stands."
        raise CannotApply(refuse("contradicts_record", text))
    Sign.objects.filter(fact=fact.body["of"]).update(state="withdrawn")
    return _amend(fact)


@applies("fact_corrected")
def correct(fact: Fact) -> list[Fact]:
    _told(fact)
    return _amend(fact)


@applies("fact_contradicted")
def contradict(fact: Fact) -> list[Fact]:
    """The judge reads it beside the fact it is about."""
    _told(fact)
    return tell_word(fact)


@applies("account_decided")
def decide_account(fact: Fact) -> list[Fact]:
    """Who was found, and where they stand, is as the accepted account says."""
    ended = StayRow.objects.filter(uid=report_of(fact).body.get("ended_stay")).first()
    told = [] if ended is None else [str(one.uid) for one in accounts_of_stay(ended.uid)]
    if ended is None or len(told) < 2 or fact.body["accepted"] not in told:
        raise CannotApply(refuse("contradicts_record", "This is no account of that move."))
    return tell_word(fact)


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


@applies("incident_recorded")
def record_incident(fact: Fact) -> None:
    """Found by what it names; the batches there are judged again."""
    named = [fact.body[name] for name in ("batch", "container") if name in fact.body]
    _are_here(fact, (Batch, Container), named)


@applies("contact_seen")
def see_contact(fact: Fact) -> None:
    """Something touched both: which animals that concerns is judged, not kept."""
    body = fact.body
    _are_here(fact, TOUCHED, [body[name] for name in ("from", "to", "thing") if name in body])


def _amend(fact: Fact) -> list[Fact]:
    """Rows of animals, water and equipment follow a word about what made them."""
    amend_water(fact)
    amend_mixing(fact)
    amend_fittings(fact)
    return tell_word(fact)


def _told(fact: Fact) -> None:
    """The fact this one is about must be in the same record book."""
    if not Fact.objects.filter(uid=fact.body["of"], log=fact.log_id).exists():
        raise not_here("fact")


def _are_here(
    fact: Fact, sorts: Iterable[type[Batch | SiteThing]], uids: Iterable[str]
) -> None:
    """Each is a thing of one of these sorts at the fact's own site."""
    left = {UUID(uid) for uid in uids}
    for sort in sorts:
        left -= set(
            sort.objects.filter(uid__in=left, site=fact.log_id).values_list("uid", flat=True)
        )
    if left:
        raise not_here("thing")
