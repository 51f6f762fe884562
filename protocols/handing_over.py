"""Who may say that they have read a handover."""

from collections.abc import Iterator
from uuid import UUID

from protocols.second_person import OWN
from protocols.values import Reason


def may_confirm_reading(person: UUID, by: UUID) -> Iterator[Reason]:
    """The next person reads what the one before wrote; nobody confirms their own words."""
    if person == by:
        text = "Somebody else reads what you handed over."
        yield Reason(OWN, OWN, text, who=("keeper", "manager"))
