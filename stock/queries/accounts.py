"""What was told of one move, by everybody who told of it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from protocols.said import said
from stock.models import Fact, FactSubject, Parked
from stock.queries.told import named


def accounts_with(fact: Fact) -> list[Fact]:
    """All accounts of the move that this fact tells of, by entry; none of what is no move."""
    if fact.kind != "batch_moved":
        return []
    return accounts_of_stay(UUID(fact.body["ended_stay"]))


def accounts_of_stay(ended: UUID) -> list[Fact]:
    """Everything told and fitting of the move that ended a stay. One query."""
    return [row for row in _told_of([ended]) if UUID(row.body["ended_stay"]) == ended]


@dataclass(frozen=True, slots=True)
class Account:
    """What one person told of a move, with the names of who, where and with what."""

    uid: UUID
    doer: UUID
    messenger: UUID
    by: str
    at: datetime
    recorded_at: datetime
    container: str
    kit: str
    count: int | None
    missing: int


def accounts_by_cause(moves: Iterable[UUID]) -> dict[UUID, list[Account]]:
    """All accounts of each of these moves, by entry. Three queries, none for no moves."""
    wanted = list(moves)
    if not wanted:
        return {}
    asked = {
        row.uid: UUID(row.body["ended_stay"])
        for row in Fact.objects.filter(uid__in=wanted, kind="batch_moved")
    }
    told = list(_told_of(asked.values()))
    names = named({str(uid) for row in told for uid in _named_by(row)})
    by_stay: dict[UUID, list[Account]] = defaultdict(list)
    for row in told:
        by_stay[UUID(row.body["ended_stay"])].append(_account(row, names))
    return {move: by_stay[stay] for move, stay in asked.items()}


def _named_by(row: Fact) -> Iterator[Any]:
    yield from (row.doer, row.messenger, row.body["container"])
    if row.body.get("kit"):
        yield row.body["kit"]


def _account(row: Fact, names: Mapping[str, str]) -> Account:
    doer, teller = (names.get(str(uid), "somebody") for uid in (row.doer, row.messenger))
    counts = row.body.get("counts") or [None]
    return Account(
        uid=row.uid,
        doer=row.doer,
        messenger=row.messenger,
        by=doer
        if row.doer == row.messenger
        else said("{doer}, told by {teller}", doer=doer, teller=teller),
        at=row.performed_at,
        recorded_at=row.recorded_at,
        container=names.get(row.body["container"], "elsewhere"),
        kit=names.get(str(row.body.get("kit")), ""),
        count=counts[-1],
        missing=row.body.get("missing", 0),
    )


def _told_of(stays: Iterable[UUID]) -> QuerySet[Fact]:
    """Moves that speak of these stays and fit the record, by entry."""
    about = FactSubject.objects.filter(subject__in=list(stays), fact__kind="batch_moved")
    said = Fact.objects.filter(kind="parked_settled").values("uid")
    parked = Parked.objects.filter(Q(settled_by=None) | Q(settled_by__in=said)).values("fact")
    rows = Fact.objects.filter(uid__in=about.values("fact")).exclude(uid__in=parked)
    return rows.order_by("seq")
