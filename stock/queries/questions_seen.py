"""Open questions of a site as the page lists them, and one of them."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Case, IntegerField, Value, When

from stock.models import DeviationRow, Parked
from stock.refusals import NotFound

MOST = 500
# What broke a series comes before what asks, and that before what is only worth knowing.
WEIGHT = Case(
    When(effect="broke", then=Value(0)),
    When(effect="asks", then=Value(1)),
    default=Value(2),
    output_field=IntegerField(),
)


@dataclass(frozen=True, slots=True)
class ParkedSeen:
    """A report that does not fit the record yet, and why."""

    fact: UUID
    kind: str
    performed_at: datetime
    why: str


def open_questions(site: UUID) -> list[DeviationRow]:
    """Deviations that nobody has decided, the heaviest and oldest first. One query."""
    rows = DeviationRow.objects.filter(site=site, open=True).select_related("batch")
    return list(rows.annotate(weight=WEIGHT).order_by("weight", "at", "uid")[:MOST])


def parked_reports(site: UUID) -> list[ParkedSeen]:
    """What was reported and does not fit, oldest first. One query."""
    rows = Parked.objects.filter(site=site, settled_by=None).select_related("fact")
    return [
        ParkedSeen(row.fact_id, row.fact.kind, row.fact.performed_at, row.why)
        for row in rows.order_by("fact__performed_at", "fact")[:MOST]
    ]


def question_seen(uid: UUID) -> DeviationRow:
    """One deviation with its batch. One query. Raises NotFound."""
    found = DeviationRow.objects.select_related("batch").filter(uid=uid).first()
    if found is None:
        raise NotFound
    return found
