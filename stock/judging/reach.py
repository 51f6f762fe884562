"""Which batches a new fact reaches, and what follows for them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from stock.models import Batch, Fact, FactSubject, Log, Reliance, writing_projections


@dataclass(frozen=True, slots=True)
class Consequences:
    """What a door's answer says of deviations and tasks that changed."""

    deviations: list[dict[str, Any]] = field(default_factory=list)
    tasks_changed: list[dict[str, Any]] = field(default_factory=list)


def follow(log: Log, facts: Sequence[Fact], *, at: datetime) -> Consequences:
    """Mark every batch that relied on what these facts speak of, with one UPDATE."""
    touched = FactSubject.objects.filter(fact__in=facts).values("subject")
    reached = Reliance.objects.filter(subject__in=touched).values("batch")
    with writing_projections():
        Batch.objects.filter(uid__in=reached).update(stale=True)
    return Consequences()


def judge_everything() -> None:
    """Judge every batch anew, e.g. after projections were made again."""
    with writing_projections():
        Batch.objects.update(stale=True)
