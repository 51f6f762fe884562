"""By which ways something could have reached a batch, and whom it could have reached."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.exposure import GRADES, Grade
from stock.models import Batch, DeviationRow, Sign
from stock.queries.told import named

RULES = ("contact_tool", "splash_seen", "proximity")


@dataclass(frozen=True, slots=True)
class Exposed:
    """One way, graded, and the question that it is.

    The other end is a batch (`batch`) or a place; `near` is what is known of neighbours.
    """

    question: UUID
    at: datetime
    name: str
    batch: UUID | None
    way: str
    grade: str
    open: bool
    decided: str | None
    near: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class Ways:
    came: tuple[Exposed, ...]
    went: tuple[Exposed, ...]


def exposed(batch: Batch) -> Ways:
    """Contacts and neighbours of a batch, from what is kept of its questions. Two queries.

    Whom it could have reached are those who stood near when a sign was seen on it; who was
    touched with what came from it has the question on its own page.
    """
    signs = Sign.objects.filter(batch=batch).values("fact")
    mine, theirs = Q(batch=batch, rule__in=RULES), Q(rule="proximity", cause__in=signs)
    rows = list(DeviationRow.objects.filter(mine | theirs).order_by("at", "uid"))
    names = named({uid for row in rows for uid in (str(row.batch_id), row.numbers["from"])})
    came = (row for row in rows if row.batch_id == batch.uid)
    went = (row for row in rows if row.batch_id != batch.uid)
    return Ways(
        tuple(_way(row, row.numbers["from"], names) for row in came),
        tuple(_way(row, str(row.batch_id), names) for row in went),
    )


def _way(row: DeviationRow, other: str, names: Mapping[str, str]) -> Exposed:
    near = row.rule == "proximity"
    return Exposed(
        question=row.uid,
        at=row.at,
        name=names.get(other, "?"),
        batch=UUID(other) if near else None,
        way="proximity" if near else row.numbers["way"],
        grade=str(Grade.POSSIBLE if near else GRADES[row.numbers["way"]]),
        open=row.open,
        decided=row.decided,
        near=row.numbers if near else None,
    )
