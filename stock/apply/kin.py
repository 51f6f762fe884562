"""Which batch came out of which, for good: written with the batch, read when it is judged."""

from collections.abc import Sequence
from uuid import UUID

from stock.models import Batch, Fact, Kin


def come_out_of(fact: Fact, batch: Batch, parents: Sequence[Batch]) -> None:
    """A new batch with its parents, and with all those they came out of."""
    ways: dict[UUID, str] = dict.fromkeys(_ancestors(parents), "ancestor")
    ways |= {parent.uid: "parent" for parent in parents}
    _write(fact, batch.uid, ways)


def joined_with(fact: Fact, members: Sequence[Batch]) -> None:
    """What the join did to the series of one hangs on the histories of the others."""
    for one in members:
        others = [other for other in members if other.uid != one.uid]
        known = set(Kin.objects.filter(batch=one).values_list("of", flat=True))
        every = {*_ancestors(others), *(other.uid for other in others)} - known - {one.uid}
        _write(fact, one.uid, dict.fromkeys(every, "joined_with"))


def _ancestors(batches: Sequence[Batch]) -> set[UUID]:
    rows = Kin.objects.filter(batch__in=batches, how__in=("parent", "ancestor"))
    return set(rows.values_list("of", flat=True))


def _write(fact: Fact, batch: UUID, ways: dict[UUID, str]) -> None:
    Kin.objects.bulk_create(
        Kin(batch_id=batch, of_id=of, how=ways[of], fact=fact.uid) for of in sorted(ways)
    )
