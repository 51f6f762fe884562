"""Do the cached judgements say what a fresh judgement says?

Whom a fact reaches is found in two ways that know nothing of each other: by the marks that
reliances leave, and by judging everything. What the second finds the first must have found.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db import transaction
from django.db.models import Q, QuerySet

from stock.judging import bring_up_to_date, judging_later
from stock.judging.load import judged_many
from stock.judging.reach import judge_and_store
from stock.models import Batch, DeviationRow

MANY = 50
# These say when and how the cache was made, not what follows from the facts.
NOT_JUDGED = ("stale", "fresh_until")


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Compared:
    """Codes of batches: which are marked, as stale or overtaken by the clock, and of which a
    fresh judgement says something else than what is kept."""

    judged: int
    marked: tuple[str, ...]
    differing: tuple[str, ...]

    @property
    def missed(self) -> list[str]:
        """Those of which the cache claims to be fresh and is not."""
        return [code for code in self.differing if code not in self.marked]


def check(at: datetime) -> list[str]:
    """Codes of batches whose cache claims to be fresh at `at` and is not. Changes nothing."""
    fresh = Q(fresh_until=None) | Q(fresh_until__gt=at)
    return _differing(Batch.objects.filter(fresh, stale=False), at)


def compare(at: datetime) -> Compared:
    """Every batch judged anew, beside what is marked. Changes nothing."""
    marked = Batch.objects.filter(Q(stale=True) | Q(fresh_until__lte=at))
    return Compared(
        judged=Batch.objects.count(),
        marked=tuple(marked.order_by("uid").values_list("code", flat=True)),
        differing=tuple(_differing(Batch.objects.all(), at)),
    )


@dataclass(frozen=True, slots=True)
class Reached:
    """Batches that were marked by what was told, and those that are judged otherwise by it."""

    marked: frozenset[UUID]
    changed: frozenset[UUID]

    @property
    def missed(self) -> frozenset[UUID]:
        return self.changed - self.marked


def reach_of(tell: Callable[[], T], at: datetime) -> tuple[T, Reached]:
    """Whom it reaches what `tell` tells, in both ways; afterwards everything is up to date.

    Everything must be up to date before.
    """
    before = _judged(at)
    with judging_later():
        answer = tell()
    marked = Batch.objects.filter(stale=True).values_list("uid", flat=True)
    now = _judged(at)
    changed = frozenset(uid for uid, found in now.items() if before.get(uid) != found)
    reached = Reached(frozenset(marked), changed)
    with transaction.atomic():
        bring_up_to_date(at)
    return answer, reached


def _judged(at: datetime) -> dict[UUID, Any]:
    return {**judged_many(Batch.objects.values_list("uid", flat=True), at)}


def _differing(rows: QuerySet[Batch], at: datetime) -> list[str]:
    batches = list(rows.order_by("uid"))
    wrong: list[str] = []
    for start in range(0, len(batches), MANY):
        wrong += _wrong(batches[start : start + MANY], at)
    return wrong


def _wrong(batches: list[Batch], at: datetime) -> list[str]:
    uids = [batch.uid for batch in batches]
    with transaction.atomic():
        before = _kept(uids)
        for batch in batches:
            judge_and_store(batch.site_id, [batch.uid], at)
        after = _kept(uids)
        transaction.set_rollback(True)
    return [batch.code for batch in batches if before[batch.uid] != after[batch.uid]]


def _kept(uids: list[UUID]) -> dict[UUID, tuple[dict[str, Any], list[dict[str, Any]]]]:
    columns: dict[UUID, dict[str, Any]] = {
        row["uid"]: {name: value for name, value in row.items() if name not in NOT_JUDGED}
        for row in Batch.objects.filter(uid__in=uids).values()
    }
    kept: dict[UUID, tuple[dict[str, Any], list[dict[str, Any]]]] = {
        uid: (row, []) for uid, row in columns.items()
    }
    for deviation in DeviationRow.objects.filter(batch__in=uids).order_by("uid").values():
        kept[deviation["batch_id"]][1].append(dict(deviation))
    return kept
