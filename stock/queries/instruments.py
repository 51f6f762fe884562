"""Instruments to read with."""

from dataclasses import dataclass
from uuid import UUID

from stock.models import Instrument


@dataclass(frozen=True, slots=True)
class InstrumentChoice:
    uid: UUID
    label: str
    quantities: frozenset[str]
    passed: bool | None


def instruments_of(site: UUID) -> list[InstrumentChoice]:
    """The instruments of a site, by label. One query."""
    return [
        InstrumentChoice(row.uid, row.label, frozenset(row.quantities), row.passed)
        for row in Instrument.objects.filter(site=site).order_by("label")
    ]
