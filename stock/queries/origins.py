"""Which lines of packing lists animals can have come from, through splits and joins."""

from collections.abc import Iterable
from uuid import UUID

from stock.models import Fact, Kin, Origin

LINEAGE = ("parent", "ancestor")


def lines_of(batches: Iterable[UUID]) -> dict[UUID, list[UUID]]:
    """Every line the animals of each batch can have come from. Two queries."""
    wanted = set(batches)
    before: dict[UUID, set[UUID]] = {uid: {uid} for uid in wanted}
    kin = Kin.objects.filter(batch__in=wanted, how__in=LINEAGE)
    for batch, of in kin.values_list("batch", "of"):
        before[batch].add(of)
    every = {of for found in before.values() for of in found}
    placed = list(Origin.objects.filter(batch__in=every).values_list("batch", "line"))
    return {
        batch: sorted({line for of, line in placed if of in found})
        for batch, found in before.items()
    }


def undecided(batches: Iterable[UUID]) -> dict[UUID, list[UUID]]:
    """Of batches that came out of a join of animals nobody can tell apart: their lines.

    Only where there are several; of one line nothing is open. Five queries.
    """
    wanted = set(batches)
    kin = Kin.objects.filter(batch__in=wanted, how__in=LINEAGE).values_list("batch", "of")
    family = {*wanted, *(of for _, of in kin)}
    by = dict(Kin.objects.filter(batch__in=family, how="parent").values_list("batch", "fact"))
    joins = Fact.objects.filter(uid__in=set(by.values()), kind="batches_joined")
    mixed = {fact.uid for fact in joins if not fact.body["told_apart"]}
    born_of = {batch for batch, fact in by.items() if fact in mixed}
    told = {batch for batch, of in kin if of in born_of} | (born_of & wanted)
    return {batch: lines for batch, lines in lines_of(told).items() if len(lines) > 1}
