"""What one person cannot do alone: confirm their own word, close what they opened."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any
from uuid import UUID

from protocols.deviations import covers
from protocols.judged import Deviation
from protocols.ruled import Reason
from protocols.said import said
from protocols.told import Fact

OWN = "own_action"


def may_confirm(person: UUID, of: Fact, *, is_manager: bool = False) -> tuple[Reason, ...]:
    """A word counts once somebody says it who neither did nor delivered it.

    Of what another delivered than who did it, a manager.
    """
    if of.delivered and not is_manager:
        text = "Another brought this than who did it: a manager confirms it."
        return (Reason("wrong_role", "wrong_role", text, who=("manager",)),)
    if person not in of.people:
        return ()
    return (Reason(OWN, OWN, "Somebody else has to confirm this.", who=("keeper", "manager")),)


def may_decide_account(
    people: Collection[UUID], accounts: Collection[Fact], accepted: UUID
) -> Iterator[Reason]:
    """Whoever told one of the accounts does not decide which is right.

    `people` are who decides and whose sign-in says so.
    """
    if len(accounts) < 2:
        text = "Only one account was told of it: there is nothing to choose."
        yield Reason("contradicts_record", "one_account", text)
    elif accepted not in {one.uid for one in accounts}:
        text = "This is no account of that move."
        yield Reason("contradicts_record", "account_of_move", text, pointer="/accepted")
    if any(who in people for one in accounts for who in one.people):
        text = "You told one of these accounts: somebody else has to decide."
        yield Reason(OWN, OWN, text, who=("manager",))


def may_stand(more: int, *, missing: int, alive: int) -> Iterator[Reason]:
    """Whether so many more can be missing by the account that is to stand, or, negative, fewer.

    `missing` are those of the move whom nobody found since.
    """
    if more > alive:
        text = said(
            "{alive} are alive; {more} more would be missing by this account.",
            alive=alive,
            more=more,
        )
        numbers = {"alive": alive, "entered": more}
        yield Reason("too_few_alive", "balance", text, numbers=numbers, pointer="/accepted")
    if -more > missing:
        text = said(
            "{missing} of them are still missing; by this account {value} are not.",
            missing=missing,
            value=-more,
        )
        yield Reason(
            "contradicts_record",
            "missing_within_count",
            text,
            numbers={"missing": missing, "entered": -more},
            pointer="/accepted",
        )


def may_decide(
    person: UUID,
    deviation: Deviation,
    known: Mapping[str, Any],
    *,
    agreed_by: Iterable[UUID] = (),
) -> tuple[Reason, ...]:
    """A decision is about the present numbers, and not only by whom the deviation came from.

    `agreed_by` are others who decided the same before.
    """
    found = []
    if not covers(known, deviation.numbers):
        found.append(
            Reason(
                "known_changed",
                "known_changed",
                "The numbers have changed since you looked.",
                numbers=dict(deviation.numbers),
            )
        )
    if deviation.is_own({person, *agreed_by}):
        text = "It came from your own action: another person has to decide it."
        found.append(Reason(OWN, OWN, text, who=("manager",)))
    return tuple(found)
