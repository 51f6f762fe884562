"""Do the cached judgements say what a fresh judgement says?"""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from stock.judging.reach import judge_and_store
from stock.models import Batch, DeviationRow

MANY = 50
# These say when and how the cache was made, not what follows from the facts.
NOT_JUDGED = ("stale", "fresh_until")


def check(at: datetime) -> list[str]:
    """Codes of batches whose cache claims to be fresh at `at` and is not. Changes nothing."""
    fresh = Batch.objects.filter(Q(fresh_until=None) | Q(fresh_until__gt=at), stale=False)
    batches = list(fresh.order_by("uid"))
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
