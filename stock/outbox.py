"""What has to be told to people: left in the outbox with the change, sent afterwards."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import Notice


@dataclass(frozen=True, slots=True)
class Telling:
    """One notice. What is told under one `effect` is told once, however often it is left."""

    effect: str
    kind: str
    body: Mapping[str, Any]


def leave(site: UUID, telling: Telling, at: datetime) -> bool:
    """Leave a notice; False where it was left before."""
    _, is_new = Notice.objects.get_or_create(
        effect=telling.effect,
        defaults={
            "site": site,
            "kind": telling.kind,
            "body": dict(telling.body),
            "made_at": at,
        },
    )
    return is_new
