"""What an auditor takes away: tables of plain values, one row at a time, for a span of days."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from stock.queries import audit_rows as rows
from stock.queries.audit_rows import Cell, Row, Span

__all__ = ["AuditTable", "Cell", "Span", "tables"]


@dataclass(frozen=True, slots=True)
class AuditTable:
    """One file of the records: what it holds, its columns, and how its rows are read."""

    name: str
    says: str
    columns: tuple[str, ...]
    rows: Callable[[Span], Iterator[Row]]


def tables() -> tuple[AuditTable, ...]:
    """Every table of the records, in the order in which they are read."""
    return TABLES


WHEN = ("performed_at_utc", "performed_at_local")
TABLES = (
    AuditTable(
        "stays",
        "Every stay that touches the span: container, kit, from when to when, how long.",
        (
            "batch",
            "container",
            "kit",
            "began_utc",
            "began_local",
            "ended_utc",
            "stay_s",
            "stay",
        ),
        rows.stays_rows,
    ),
    AuditTable(
        "received",
        "Animals counted out of their bags, beside what the papers listed.",
        (
            *WHEN,
            "supplier",
            "waybill",
            "text",
            "species",
            "box",
            "listed",
            "received",
            "dead_on_arrival",
        ),
        rows.counts_rows,
    ),
    AuditTable(
        "transfers",
        "Animals from place to place: summed up, they give every balance.",
        (*WHEN, "fact", "from_holder", "from_place", "to_holder", "to_place", "count"),
        rows.transfers_rows,
    ),
    AuditTable(
        "losses",
        "Animals gone for good, with kind and cause.",
        (*WHEN, "last_seen_utc", "batch", "fate", "count", "cause", "certainty", "presumed"),
        rows.losses_rows,
    ),
    AuditTable(
        "readings",
        "Measured values as typed, with instrument.",
        (*WHEN, "container", "quantity", "value", "unit", "instrument", "doubt"),
        rows.readings_rows,
    ),
    AuditTable(
        "equipment",
        "Disinfected, seen dry, found wet, emptied: one row for each piece, kit or container.",
        (
            *WHEN,
            "what",
            "subject",
            "agent",
            "mg_per_l",
            "contact_from_utc",
            "contact_to_utc",
            "doer",
        ),
        rows.cleaning_rows,
    ),
    AuditTable(
        "deviations",
        "Where a rule may not have been kept, and what was decided.",
        (*WHEN, "batch", "rule", "effect", "numbers", "state", "decided", "decided_by_fact"),
        rows.deviations_rows,
    ),
    AuditTable(
        "corrections",
        "Corrections, withdrawals, confirmations and decisions: old value, new value, why.",
        (*WHEN, "what", "of", "field", "old", "new", "reason", "doer"),
        rows.words_rows,
    ),
    AuditTable(
        "late_entries",
        "What was told more than an hour after it was performed.",
        (*WHEN, "recorded_at_utc", "gap_s", "what", "reason", "doer", "messenger"),
        rows.late_rows,
    ),
    AuditTable(
        "notes",
        "What people wrote beside what they told, unless it was erased.",
        (*WHEN, "what", "fact", "name", "text", "doer"),
        rows.notes_rows,
    ),
    AuditTable(
        "certificates",
        "Certificates issued in the span.",
        (*WHEN, "number", "batch", "count", "token_sha256"),
        rows.certificates_rows,
    ),
)
