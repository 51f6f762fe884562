"""The row that stands beside a transfer and says why animals are gone."""

from collections.abc import Mapping
from typing import Any

from stock.apply.registry import moment
from stock.models import Batch, Fact, Loss, Missing


def lose_as_told(report: Fact, batch: Batch, body: Mapping[str, Any]) -> None:
    """A loss as its report says, or as the report was corrected."""
    seen = body.get("last_seen_at")
    Loss.objects.create(
        fact=report.uid,
        batch=batch,
        fate=body["fate"],
        count=body["count"],
        cause=body["cause"],
        certainty=body.get("certainty"),
        found_at=moment(body["found_at"]),
        last_seen_at=moment(seen) if seen else None,
        origin=body.get("origin", []),
        incident=body.get("incident"),
    )


def lose_missing(report: Fact, missing: Missing, fate: str, count: int) -> None:
    """Of those who were missed so many are dead, or presumed lost."""
    Loss.objects.create(
        fact=report.uid,
        batch_id=missing.batch_id,
        fate=fate,
        count=count,
        of=missing.fact,
        found_at=report.performed_at,
        last_seen_at=missing.at,
        presumed=fate == "presumed_lost",
    )
