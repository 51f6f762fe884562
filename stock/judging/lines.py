"""Whom a word about the species of packing-list lines reaches."""

from collections.abc import Sequence
from uuid import UUID

from stock.apply import subjects
from stock.models import Fact, Kin, Origin

SAYS_SPECIES = frozenset({"line_matched", "list_applied"})


def came_out_of(facts: Sequence[Fact]) -> set[UUID]:
    """Batches with animals of the lines whose species was told; none where it was not.

    Two queries, none where nothing was said of a species.
    """
    lines = {uid for fact in facts if fact.kind in SAYS_SPECIES for uid in subjects(fact)}
    if not lines:
        return set()
    placed = set(Origin.objects.filter(line__in=lines).values_list("batch", flat=True))
    kin = Kin.objects.filter(of__in=placed, how__in=("parent", "ancestor"))
    return placed | set(kin.values_list("batch", flat=True))
