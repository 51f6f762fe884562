"""Open questions of a site as the page lists them, and one of them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, IntegerField, Value, When

from protocols.deadlines import presumable_from
from protocols.settling import fate_of
from protocols.values import RulesHistory
from stock.judging.facts import value_of
from stock.models import DeviationRow, Missing, Parked, StayRow
from stock.queries.told import names_in
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
    site: UUID
    kind: str
    performed_at: datetime
    why: str
    tellers: frozenset[UUID]
    body: dict[str, Any]
    reason: str | None
    waits: bool

    @property
    def counts(self) -> bool:
        """Whether its animals can be counted for batches."""
        return fate_of(self.kind, self.body) is not None


@dataclass(frozen=True, slots=True)
class MissingSeen:
    """Animals nobody has found, and from when on they may be presumed lost."""

    fact: UUID
    batch: UUID
    code: str
    container: str
    open: int
    at: datetime
    presumable_from: datetime


def open_questions(site: UUID) -> list[DeviationRow]:
    """Deviations that nobody has decided, the heaviest and oldest first. One query."""
    rows = DeviationRow.objects.filter(site=site, open=True).select_related("batch")
    return list(rows.annotate(weight=WEIGHT).order_by("weight", "at", "uid")[:MOST])


def parked_reports(site: UUID) -> tuple[list[ParkedSeen], dict[str, str]]:
    """What was reported and does not fit, oldest first; the names in it. Two queries."""
    rows = Parked.objects.filter(site=site, settled_by=None).select_related("fact")
    found = [_parked(row) for row in rows.order_by("fact__performed_at", "fact")[:MOST]]
    return found, names_in(one.body for one in found)


def parked_seen(fact: UUID) -> ParkedSeen:
    """One report that did not fit. One query. Raises NotFound."""
    row = Parked.objects.filter(fact=fact).select_related("fact").first()
    if row is None:
        raise NotFound
    return _parked(row)


def _parked(row: Parked) -> ParkedSeen:
    told = row.fact
    return ParkedSeen(
        fact=told.uid,
        site=row.site_id,
        kind=told.kind,
        performed_at=told.performed_at,
        why=row.why,
        tellers=value_of(told).people,
        body=told.body,
        reason=told.reason,
        waits=row.settled_by is None,
    )


def still_missing(site: UUID, rules: RulesHistory, at: datetime) -> list[MissingSeen]:
    """Whom nobody has found, first whom it is time to presume lost. One query."""
    rows = Missing.objects.filter(batch__site=site, open__gt=0, at__lte=at)
    found = [
        MissingSeen(
            fact=row.fact,
            batch=row.batch_id,
            code=row.batch.code,
            container=row.container.label,
            open=row.open,
            at=row.at,
            presumable_from=presumable_from(row.at, rules.at(at)),
        )
        for row in rows.select_related("batch", "container").order_by("at", "fact")[:MOST]
    ]
    return sorted(found, key=lambda one: (one.presumable_from, one.fact))


def batches_here(site: UUID) -> list[tuple[str, str]]:
    """Batches that stand somewhere, by label: uid, and where they are. One query."""
    rows = StayRow.objects.filter(batch__site=site, ended_latest=None).order_by(
        "container__label"
    )
    return [
        (str(uid), f"{label}, {code}")
        for uid, label, code in rows.values_list("batch", "container__label", "batch__code")
    ]


def question_seen(uid: UUID) -> DeviationRow:
    """One deviation with its batch. One query. Raises NotFound."""
    found = DeviationRow.objects.select_related("batch").filter(uid=uid).first()
    if found is None:
        raise NotFound
    return found
