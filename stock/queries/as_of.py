"""The record as it was: by when things were performed, and by what it held then."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet, Sum

from stock.models import Batch, Fact, FactSubject, Site, Transfer

Spot = tuple[UUID, str]


@dataclass(frozen=True, slots=True)
class AsOf:
    """What a reader asked for: a moment, and the last entry that counts as known.

    False where nobody asked: then everything that the record book holds counts.
    """

    at: datetime | None = None
    known_by: int | None = None

    def __bool__(self) -> bool:
        return self.at is not None or self.known_by is not None

    def facts(self, site: UUID) -> QuerySet[Fact]:
        """The facts of a site that count."""
        rows = Fact.objects.filter(log=site)
        if self.at is not None:
            rows = rows.filter(performed_at__lte=self.at)
        if self.known_by is not None:
            rows = rows.filter(seq__lte=self.known_by)
        return rows


NOW = AsOf()


@dataclass(frozen=True, slots=True)
class Went:
    """So many that went from one place of one holder to another, all in all."""

    begin: Spot
    end: Spot
    count: int


def went(site: UUID, holders: Iterable[UUID], then: AsOf = NOW) -> list[Went]:
    """Everything that moved animals of these lines and batches. One query.

    A word about a report moves them as of when the report says, and is known from its own
    entry on.
    """
    wanted = list(holders)
    rows = Transfer.objects.filter(Q(from_holder__in=wanted) | Q(to_holder__in=wanted))
    if then.at is not None:
        rows = rows.filter(performed_at__lte=then.at)
    if then.known_by is not None:
        rows = rows.filter(fact__in=AsOf(known_by=then.known_by).facts(site).values("uid"))
    names = ("from_holder", "from_place", "to_holder", "to_place")
    totals = rows.order_by().values_list(*names).annotate(n=Sum("count"))
    return [
        Went((from_holder, from_place), (to_holder, to_place), n)
        for from_holder, from_place, to_holder, to_place, n in totals
    ]


def batches_then(site: Site, then: AsOf) -> QuerySet[Batch]:
    """The batches of a site that had been placed and were known of, by code."""
    return placed_by(Batch.objects.filter(site=site), then).order_by("code")


def placed_by(rows: QuerySet[Batch], then: AsOf) -> QuerySet[Batch]:
    """Those of these batches that had been placed and were known of."""
    if then.at is not None:
        rows = rows.filter(placed_at__lte=then.at)
    if then.known_by is not None:
        told = FactSubject.objects.filter(subject=OuterRef("uid"), fact__seq__lte=then.known_by)
        rows = rows.filter(Exists(told))
    return rows


def balances_then(site: Site, then: AsOf) -> dict[str, Any]:
    """Where the animals of each batch were, and all of them together. Two queries."""
    batches = {row.uid: row.code for row in batches_then(site, then)}
    moved: dict[UUID, list[Went]] = {uid: [] for uid in batches}
    for one in went(site.uid, batches, then):
        for holder in {one.begin[0], one.end[0]} & batches.keys():
            moved[holder].append(one)
    counts = {uid: counts_in(those, uid) for uid, those in moved.items()}
    alive = sum(found["alive"] for found in counts.values())
    shown = [
        {"uid": str(uid), "code": code, "counts": counts[uid]} for uid, code in batches.items()
    ]
    return {"alive": alive, "batches": shown}


def places_in(every: Iterable[Went], holder: UUID) -> dict[str, int]:
    """How many are at each place of a holder, after all that. Negative is a contradiction."""
    places: dict[str, int] = {}
    for one in every:
        for (who, place), count in ((one.begin, -one.count), (one.end, one.count)):
            if who == holder:
                places[place] = places.get(place, 0) + count
    return places


def counts_in(every: Iterable[Went], batch: UUID) -> dict[str, Any]:
    """Where the animals of a batch are: it always adds up.

    Placed are all who came in, out of their bags or out of other batches.
    """
    moved = list(every)
    places = places_in(moved, batch)
    born = -places.pop("outside", 0)
    came = (one for one in moved if one.end[0] == batch != one.begin[0])
    gone = (one for one in moved if one.begin[0] == batch != one.end[0])
    zero = dict.fromkeys(("alive", "dead", "unaccounted"), 0)
    other: Mapping[str, int] = {
        "born_here": born,
        "passed_on": sum(one.count for one in gone),
    }
    return {
        "placed": sum(one.count for one in came),
        **zero,
        **places,
        **{name: count for name, count in other.items() if count},
    }
