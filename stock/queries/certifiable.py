"""Which batches could be certified soon, by what is kept of them; and their certificates."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, IntegerField, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from stock.models import (
    Balance,
    Batch,
    Certificate,
    CertificateText,
    DeviationRow,
    HoldRow,
    StayRow,
)

MOST = 500
STANDING = ("valid", "partly", "suspended")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A batch that somebody may want to certify, and what is known to stand against it."""

    uid: UUID
    code: str
    where: str | None
    state: str
    alive: int
    unaccounted: int
    questions: int
    holds: int
    earliest_end: datetime | None
    observation_ends: datetime | None
    certificate: str | None

    @property
    def is_clear(self) -> bool:
        """Nothing that is kept stands against it. Asking judges it afresh."""
        return self.state == "done" and not (self.unaccounted or self.questions or self.holds)


@dataclass(frozen=True, slots=True)
class CertificateSeen:
    uid: UUID
    number: str
    state: str
    count: int
    issued_at: datetime
    address: str


def candidates(site: UUID) -> list[Candidate]:
    """The open batches of a site, those that could be certified first. One query."""
    rows = Batch.objects.filter(site=site, closed_at=None).annotate(
        where=Subquery(_stays().values("container__label")[:1]),
        alive=_balance("alive"),
        unaccounted=_balance("unaccounted"),
        questions=_number(DeviationRow.objects.filter(open=True).exclude(effect="warns")),
        open_holds=_number(HoldRow.objects.filter(lifted_at=None)),
        number=Subquery(
            Certificate.objects.filter(batch=OuterRef("uid"), state__in=STANDING).values(
                "number"
            )[:1]
        ),
    )
    found = [_candidate(row) for row in rows.order_by("code")[:MOST]]
    return sorted(found, key=lambda one: (not one.is_clear, one.state != "done", _end(one)))


def certificates_seen(batch: UUID) -> list[CertificateSeen]:
    """Every certificate of a batch, the newest first. One query."""
    text = CertificateText.objects.filter(certificate=OuterRef("uid"))
    rows = Certificate.objects.filter(batch=batch).annotate(
        address=Subquery(text.values("address")[:1])
    )
    return [
        CertificateSeen(
            row.uid, row.number, row.state, row.count, row.issued_at, row.address or ""
        )
        for row in rows.order_by("-version")
    ]


def _candidate(row: Any) -> Candidate:
    return Candidate(
        uid=row.uid,
        code=row.code,
        where=row.where,
        state=row.state,
        alive=row.alive,
        unaccounted=row.unaccounted,
        questions=row.questions,
        holds=row.open_holds,
        earliest_end=row.earliest_end,
        observation_ends=row.observation_ends,
        certificate=row.number,
    )


def _end(one: Candidate) -> tuple[bool, float]:
    """Batches with the nearest end first; those without any come last."""
    end = one.observation_ends or one.earliest_end
    return (end is None, end.timestamp() if end else 0)


def _stays() -> QuerySet[StayRow]:
    return StayRow.objects.filter(batch=OuterRef("uid"), ended_latest=None)


def _balance(place: str) -> Coalesce:
    rows = Balance.objects.filter(holder=OuterRef("uid"), place=place)
    return Coalesce(Subquery(rows.values("n")[:1]), 0)


def _number(rows: QuerySet[Any]) -> Coalesce:
    """How many of these rows belong to the batch."""
    counted = rows.filter(batch=OuterRef("uid")).order_by().values("batch")
    number = counted.annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(number, output_field=IntegerField()), 0)
