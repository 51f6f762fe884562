"""What was told of one move, by everybody who told of it."""

from uuid import UUID

from django.db.models import Q

from stock.models import Fact, FactSubject, Parked


def accounts_with(fact: Fact) -> list[Fact]:
    """All accounts of the move that this fact tells of, by entry; none of what is no move."""
    if fact.kind != "batch_moved":
        return []
    return accounts_of_stay(UUID(fact.body["ended_stay"]))


def accounts_of_stay(ended: UUID) -> list[Fact]:
    """Everything told and fitting of the move that ended a stay. One query."""
    about = FactSubject.objects.filter(subject=ended, fact__kind="batch_moved")
    said = Fact.objects.filter(kind="parked_settled").values("uid")
    parked = Parked.objects.filter(Q(settled_by=None) | Q(settled_by__in=said)).values("fact")
    rows = Fact.objects.filter(uid__in=about.values("fact")).exclude(uid__in=parked)
    return [row for row in rows.order_by("seq") if UUID(row.body["ended_stay"]) == ended]
