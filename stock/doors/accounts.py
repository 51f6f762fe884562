"""Two people told one move differently: who told neither decides which account stands."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from uuid import UUID

from protocols import values
from protocols.amended import left_behind
from protocols.losses import has_reason
from protocols.second_person import may_decide_account, may_stand
from protocols.values import Reason, Standing
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.judging.worlds import alive_in
from stock.ledger import Told
from stock.models import Fact, Missing
from stock.queries.accounts import accounts_with
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class Accounts:
    """All accounts of one move, and how many more are missing by the one that is to stand."""

    told: tuple[values.Fact, ...]
    more: int
    missing: int
    alive: int


def decide_account(asking: Asking, *, fact: UUID, accepted: UUID) -> Answered:
    """Of several accounts of a move this one stands: counts, container and kit follow it."""
    row = Fact.objects.select_related("log").filter(uid=fact).first()
    if row is None or not row.log.is_of_site:
        raise NotFound
    site = access.site_for(asking.person, row.log_id, access.MANAGERS)
    if not Fact.objects.filter(uid=accepted, log=row.log_id).exists():
        raise NotFound
    body, uid = {"happening": fact, "accepted": accepted}, asking.new_uid()
    decision = Told("account_decided", body, uid=uid, about=fact, texts=asking.texts)

    def ask(found: Accounts) -> Iterator[Reason]:
        yield from has_reason(asking.reason)
        yield from may_decide_account(asking.people, found.told, accepted)
        yield from may_stand(found.more, missing=found.missing, alive=found.alive)

    # A decision: whatever a report calls it, it is asked for and must fit.
    return enter(
        replace(asking, standing=Standing.ASKED),
        site.uid,
        Door(
            load=lambda log: _accounts(asking, row, decision),
            ask=ask,
            tell=lambda _: (decision,),
            show=lambda _: {"about": str(fact), "batches": [row.body["batch"]]},
        ),
    )


def _accounts(asking: Asking, row: Fact, decision: Told) -> Accounts:
    told = tuple(value_of(one) for one in accounts_with(row))
    if not told:
        return Accounts((), 0, 0, 0)
    words = words_about([one.uid for one in told])
    now = left_behind(told, words)
    then = left_behind(told, [*words, _as_fact(asking, decision)])
    missing = Missing.objects.filter(fact__in=[one.uid for one in told]).first()
    return Accounts(
        told,
        more=then - now,
        missing=missing.open if missing else 0,
        alive=alive_in(UUID(row.body["batch"])),
    )


def _as_fact(asking: Asking, decision: Told) -> values.Fact:
    """The decision as it will be entered, to see what follows from it."""
    assert decision.uid is not None
    return values.Fact(
        uid=decision.uid,
        seq=0,
        kind=decision.kind,
        performed_at=asking.performed_at,
        recorded_at=asking.now,
        doer=asking.doer or asking.person.uid,
        messenger=asking.person.uid,
        body={name: str(value) for name, value in decision.body.items()},
    )
