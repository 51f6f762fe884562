"""What one person cannot do alone: confirm their own word, close what they opened."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from protocols.deviations import covers
from protocols.judged import Deviation
from protocols.ruled import Reason
from protocols.told import Fact

OWN = "own_action"


def may_confirm(person: UUID, of: Fact) -> tuple[Reason, ...]:
    """A word counts once somebody says it who neither did nor delivered it."""
    if person not in (of.doer, of.messenger):
        return ()
    return (Reason(OWN, OWN, "Somebody else has to confirm this.", who=("keeper", "manager")),)


def may_decide_account(person: UUID, accounts: Iterable[Fact]) -> tuple[Reason, ...]:
    """Whoever told one of the accounts does not decide which is right."""
    involved = {who for one in accounts for who in (one.doer, one.messenger)}
    if person not in involved:
        return ()
    text = "You told one of these accounts: somebody else has to decide."
    return (Reason(OWN, OWN, text, who=("manager",)),)


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
    if deviation.by == person and not set(agreed_by) - {person}:
        text = "It came from your own action: another person has to decide it."
        found.append(Reason(OWN, OWN, text, who=("manager",)))
    return tuple(found)
