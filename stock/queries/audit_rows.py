"""The rows of an auditor's tables: plain values, read from the database in chunks."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import QuerySet

from protocols.clocks import elapsed_text, local_text, utc_text
from stock.models import (
    Certificate,
    DeviationRow,
    Fact,
    FactText,
    LineCount,
    Loss,
    StayRow,
    Transfer,
    WaterReading,
)

Cell = str | int | None
Row = tuple[Cell, ...]
CHUNK = 1000


@dataclass(frozen=True, slots=True)
class Span:
    """Which site's records, from when (included) to when (not), and where its clocks hang."""

    site: UUID
    begins: datetime
    ends: datetime
    zone: ZoneInfo


# Later than this after it was performed a report is listed as late.
LATE_S = 3600


def _rows(found: QuerySet[Any]) -> Iterator[Any]:
    return found.using(settings.REPORTS).iterator(chunk_size=CHUNK)


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else utc_text(moment)


def _both(moment: datetime, span: Span) -> tuple[str, str]:
    return utc_text(moment), local_text(moment, span.zone)


def _facts(span: Span, *kinds: str) -> Iterator[Fact]:
    found = Fact.objects.filter(
        log=span.site, performed_at__gte=span.begins, performed_at__lt=span.ends
    )
    if kinds:
        found = found.filter(kind__in=kinds)
    yield from _rows(found.order_by("seq"))


def stays_rows(span: Span) -> Iterator[Row]:
    found = StayRow.objects.filter(batch__site=span.site, began_earliest__lt=span.ends).exclude(
        ended_latest__lt=span.begins
    )
    rows = found.select_related("batch", "container", "kit").order_by("began_earliest", "uid")
    for row in _rows(rows):
        length = None if row.ended_latest is None else row.ended_latest - row.began_earliest
        yield (
            row.batch.code,
            row.container.label,
            row.kit.label if row.kit else None,
            *_both(row.began_latest, span),
            _text(row.ended_latest),
            None if length is None else int(length.total_seconds()),
            None if length is None else elapsed_text(length),
        )


def counts_rows(span: Span) -> Iterator[Row]:
    found = LineCount.objects.filter(
        line__consignment__site=span.site,
        performed_at__gte=span.begins,
        performed_at__lt=span.ends,
    ).select_related("line__consignment__supplier", "line__species")
    for row in _rows(found.order_by("performed_at", "fact")):
        species = row.line.species
        yield (
            *_both(row.performed_at, span),
            row.line.consignment.supplier.name,
            row.line.consignment.waybill,
            row.line.text,
            species.scientific_name if species else None,
            row.box,
            row.line.listed,
            row.received,
            row.doa,
        )


def transfers_rows(span: Span) -> Iterator[Row]:
    facts = Fact.objects.filter(log=span.site).values("uid")
    found = Transfer.objects.filter(
        fact__in=facts, performed_at__gte=span.begins, performed_at__lt=span.ends
    )
    for row in _rows(found.order_by("performed_at", "fact", "n")):
        yield (
            *_both(row.performed_at, span),
            str(row.fact),
            str(row.from_holder),
            row.from_place,
            str(row.to_holder),
            row.to_place,
            row.count,
        )


def losses_rows(span: Span) -> Iterator[Row]:
    found = Loss.objects.filter(
        batch__site=span.site, found_at__gte=span.begins, found_at__lt=span.ends
    ).select_related("batch")
    for row in _rows(found.order_by("found_at", "fact")):
        yield (
            *_both(row.found_at, span),
            _text(row.last_seen_at),
            row.batch.code,
            row.fate,
            row.count,
            " / ".join(row.cause),
            row.certainty,
            "presumed" if row.presumed else None,
        )


def readings_rows(span: Span) -> Iterator[Row]:
    found = WaterReading.objects.filter(
        site=span.site, performed_at__gte=span.begins, performed_at__lt=span.ends
    ).select_related("container", "instrument")
    for row in _rows(found.order_by("performed_at", "uid")):
        yield (
            *_both(row.performed_at, span),
            row.container.label,
            row.quantity,
            row.value,
            row.unit,
            row.instrument.label if row.instrument else None,
            "in doubt" if row.in_doubt else None,
        )


def cleaning_rows(span: Span) -> Iterator[Row]:
    kinds = ("disinfected", "seen_dry", "found_wet", "emptied")
    for fact in _facts(span, *kinds):
        body = fact.body
        for subject in body.get("subjects", [body.get("container")]):
            yield (
                *_both(fact.performed_at, span),
                fact.kind,
                subject,
                body.get("agent"),
                body.get("mg_per_l"),
                body.get("started_at"),
                body.get("ended_at"),
                str(fact.doer),
            )


def deviations_rows(span: Span) -> Iterator[Row]:
    found = DeviationRow.objects.filter(
        site=span.site, at__gte=span.begins, at__lt=span.ends
    ).select_related("batch")
    for row in _rows(found.order_by("at", "uid")):
        numbers = ", ".join(f"{name} {value}" for name, value in sorted(row.numbers.items()))
        yield (
            *_both(row.at, span),
            row.batch.code,
            row.rule,
            row.effect,
            numbers,
            "open" if row.open else "closed",
            row.decided,
            str(row.decided_by) if row.decided_by else None,
        )


def words_rows(span: Span) -> Iterator[Row]:
    kinds = ("fact_corrected", "fact_withdrawn", "fact_contradicted", "confirmed")
    for fact in _facts(span, *kinds, "deviation_decided"):
        body = fact.body
        yield (
            *_both(fact.performed_at, span),
            fact.kind,
            body.get("of") or body.get("cause"),
            body.get("field") or body.get("rule"),
            _plain(body.get("old")),
            _plain(body.get("new", body.get("decision"))),
            fact.reason,
            str(fact.doer),
        )


def late_rows(span: Span) -> Iterator[Row]:
    for fact in _facts(span):
        gap = fact.recorded_at - fact.performed_at
        if gap.total_seconds() >= LATE_S:
            yield (
                *_both(fact.performed_at, span),
                utc_text(fact.recorded_at),
                int(gap.total_seconds()),
                fact.kind,
                fact.reason,
                str(fact.doer),
                str(fact.messenger),
            )


def notes_rows(span: Span) -> Iterator[Row]:
    found = FactText.objects.filter(
        fact__log=span.site,
        fact__performed_at__gte=span.begins,
        fact__performed_at__lt=span.ends,
    ).select_related("fact")
    for row in _rows(found.order_by("fact__seq", "name")):
        fact = row.fact
        yield (
            *_both(fact.performed_at, span),
            fact.kind,
            str(fact.uid),
            row.name,
            row.value,
            str(fact.doer),
        )


def certificates_rows(span: Span) -> Iterator[Row]:
    found = Certificate.objects.filter(
        site=span.site, issued_at__gte=span.begins, issued_at__lt=span.ends
    ).select_related("batch")
    for row in _rows(found.order_by("issued_at", "uid")):
        yield (
            *_both(row.issued_at, span),
            row.number,
            row.batch.code,
            row.count,
            row.token_sha256,
        )


def _plain(value: Any) -> Cell:
    return value if isinstance(value, str | int | None) else str(value)
