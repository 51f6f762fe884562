"""What a sweep computed of the carry-over of batches. Nothing is computed here."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import CarryOver


@dataclass(frozen=True, slots=True)
class Computed:
    """One batch as computed last; `found` is None where its inputs were refused, with why."""

    batch: UUID
    version: str
    computed_at: datetime
    digest: str
    inputs: dict[str, Any]
    found: dict[str, Any] | None
    refused: str


def carry_over_of(batch: UUID) -> Computed | None:
    """What was computed of one batch; None where no sweep came by yet. One query."""
    row = CarryOver.objects.filter(batch=batch).first()
    return None if row is None else _of(row)


def carry_over_at(site: UUID) -> list[tuple[str, Computed]]:
    """What was computed of the batches of a site that are not closed, by code. One query."""
    rows = CarryOver.objects.filter(batch__site=site, batch__closed_at=None)
    found = rows.select_related("batch").order_by("batch__code")
    return [(row.batch.code, _of(row)) for row in found]


def _of(row: CarryOver) -> Computed:
    return Computed(
        batch=row.batch_id,
        version=row.version,
        computed_at=row.computed_at,
        digest=row.digest,
        inputs=row.inputs,
        found=row.found,
        refused=row.refused,
    )
