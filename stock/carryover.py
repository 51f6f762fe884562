"""The sweep that computes the carry-over of batches: together, beforehand, never for a page.

It reads facts and writes its own table; no judgement, task or certificate looks at it.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Max

from protocols.carryover import VERSION, assess_many
from protocols.carryover.inputs import Inputs
from protocols.carryover.reading_inputs import read_inputs
from protocols.carryover.recorded import inputs_of
from protocols.carryover.stored import digest, plain
from stock.models import Batch, CarryOver, FactSubject
from stock.queries.carryover_records import records_of

# It goes on by whole hours, so a younger one is still right unless something was told.
LASTS = timedelta(hours=1)
AT_ONCE = 64
NOBODY = "no animals stand anywhere"


def sweep(site: UUID, at: datetime) -> list[UUID]:
    """Compute what is missing or stale at a site, some at a time; the batches computed anew."""
    stale = stale_at(site, at)
    for n in range(0, len(stale), AT_ONCE):
        compute(stale[n : n + AT_ONCE], at)
    return stale


def stale_at(site: UUID, at: datetime) -> list[UUID]:
    """Batches with nothing computed, something older than an hour, of another version of the
    model, or from before the newest entry about them. Three queries."""
    open_here = Batch.objects.filter(site=site, closed_at=None, placed_at__lte=at)
    known = set(open_here.values_list("uid", flat=True))
    young = CarryOver.objects.filter(
        batch__in=known, version=VERSION, computed_at__gt=at - LASTS, computed_at__lte=at
    )
    told = _told(known)
    return sorted(
        known - {uid for uid, by in young.values_list("batch", "told") if by == told[uid]}
    )


def _told(batches: Iterable[UUID]) -> dict[UUID, int]:
    """The newest entry about each batch. One query."""
    rows = FactSubject.objects.filter(subject__in=list(batches)).values("subject")
    return dict(rows.annotate(newest=Max("fact__seq")).values_list("subject", "newest"))


def compute(batches: Iterable[UUID], at: datetime) -> None:
    """Compute and keep these batches; what has the same inputs as before keeps its answer."""
    wanted = list(batches)
    records = {uid: inputs_of(one) for uid, one in records_of(wanted, at).items()}
    told = _told(wanted)
    kept = CarryOver.objects.filter(batch__in=wanted, version=VERSION)
    digests = dict(kept.values_list("batch", "digest"))
    sound, refused = _readable(
        {uid: one for uid, one in records.items() if digests.get(uid) != digest(one)}
    )
    found = dict(zip(sound, assess_many(list(sound.values())), strict=True))
    for uid, inputs in records.items():
        if uid in found or uid in refused:
            result = _result(inputs, plain(found[uid], sound[uid])) if uid in found else None
            row = {"digest": digest(inputs), "inputs": inputs, "found": result}
            _keep(uid, at, told[uid], {**row, "refused": refused.get(uid, "")})
        else:
            _keep(uid, at, told[uid], {})
    nobody: dict[str, Any] = {"digest": "", "inputs": {}, "found": None, "refused": NOBODY}
    for uid in set(wanted) - records.keys():
        _keep(uid, at, told[uid], nobody)


def _readable(
    records: Mapping[UUID, Mapping[str, Any]],
) -> tuple[dict[UUID, Inputs], dict[UUID, str]]:
    """Inputs that can be, and for the others why not."""
    sound, refused = {}, {}
    for uid, inputs in records.items():
        try:
            sound[uid] = read_inputs(inputs)
        except ValueError as why:
            refused[uid] = str(why)
    return sound, refused


def _result(inputs: Mapping[str, Any], found: dict[str, Any]) -> dict[str, Any]:
    """With the living cysts left at the end of each stay, for whoever used that gear next."""
    stays = zip(inputs["stays"], found["stays"], strict=True)
    return {**found, "left": {stay["stay"]: one["left_cysts"] for stay, one in stays}}


def _keep(batch: UUID, at: datetime, told: int, row: Mapping[str, Any]) -> None:
    known = {"computed_at": at, "told": told, "version": VERSION}
    CarryOver.objects.update_or_create(batch_id=batch, defaults={**known, **row})
