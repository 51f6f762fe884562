"""Animals from place to place. Every change of a count is a transfer, and nothing else is."""

from dataclasses import dataclass
from uuid import UUID

from django.db import IntegrityError, transaction

from protocols.animals import Spot
from stock.models import Balance, Fact, Transfer
from stock.refusals import CannotApply, refuse


@dataclass(frozen=True, slots=True)
class Going:
    """So many from one spot to another."""

    begin: Spot
    end: Spot
    count: int


def transfer(fact: Fact, *goings: Going, code: str) -> None:
    """Move animals by one fact. An overdraw does not fit the record: the database says so."""
    rows = [
        Transfer(
            fact=fact.uid,
            n=n,
            from_holder=going.begin.holder,
            from_place=going.begin.place,
            to_holder=going.end.holder,
            to_place=going.end.place,
            count=going.count,
            performed_at=fact.performed_at,
        )
        for n, going in enumerate(goings)
    ]
    try:
        with transaction.atomic():
            Transfer.objects.bulk_create(rows)
    except IntegrityError as error:
        raise CannotApply(refuse(code, "There are not so many left to take from.")) from error


def balances(holder: UUID) -> dict[str, int]:
    """How many are at each place of one holder."""
    return dict(Balance.objects.filter(holder=holder).values_list("place", "n"))
