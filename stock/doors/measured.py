"""Values measured in containers: what the site knows of them, and those typed with a move."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import quantities
from protocols.matching import Checked
from protocols.quantities import InstrumentKnown
from protocols.values import Reading, Reason
from stock import names
from stock.doors.door import Asking
from stock.judging.water import checks_of, reading_of, trust_in
from stock.ledger import Told
from stock.models import Container, Fact, Instrument
from stock.queries.sites import rules_history
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class Value:
    """One value as typed. `uid` names the reading, where a device chose it."""

    container: UUID
    quantity: str
    value: str
    unit: str
    instrument: UUID | None = None
    method: str | None = None
    temperature_c: str | None = None
    ph_scale: str | None = None
    reported_as: str | None = None
    performed_at: datetime | None = None
    uid: UUID | None = None

    def body(self) -> dict[str, Any]:
        """The body of the fact that tells it; what was not said is left out."""
        told = {one.name: getattr(self, one.name) for one in fields(self)}
        return {
            name: str(one)
            for name, one in told.items()
            if one is not None and name not in ("performed_at", "uid")
        }

    def measured(self) -> quantities.Measured:
        return quantities.Measured(
            quantity=self.quantity,
            value=self.value,
            unit=self.unit,
            instrument=self.instrument,
            ph_scale=self.ph_scale,
            reported_as=self.reported_as,
        )

    def dated(self, asking: Asking) -> "Value":
        """With its time and a uid: those of the request, where it has none of its own."""
        return replace(
            self,
            performed_at=self.performed_at or asking.performed_at,
            uid=self.uid or names.new_uid(asking.now),
        )

    def told(self, texts: Mapping[str, str]) -> Told:
        return Told(
            "reading_taken", self.body(), self.uid, performed_at=self.performed_at, texts=texts
        )


@dataclass(frozen=True, slots=True)
class Known:
    """What the site knows of the instruments named, and which uids are used already."""

    instruments: Mapping[UUID, InstrumentKnown]
    checks: Mapping[UUID, Sequence[Checked]]
    used: frozenset[UUID] = frozenset()

    def faults(self, one: Value, pointer: str) -> Iterator[Reason]:
        """What is wrong with one value, whatever its instrument is worth."""
        if one.uid in self.used:
            yield refuse("key_reused", "This uid names something else.", pointer=pointer)
        used = None if one.instrument is None else self.instruments[one.instrument]
        yield from quantities.faults(one.measured(), used, at=pointer)


def known_of(site: UUID, values: Sequence[Value]) -> Known:
    """Containers and instruments must be of the site: others are not there."""
    containers = {one.container for one in values}
    asked = {one.instrument for one in values if one.instrument is not None}
    here = Container.objects.filter(uid__in=containers, site=site)
    rows = Instrument.objects.filter(uid__in=asked, site=site)
    instruments = {
        row.uid: InstrumentKnown(row.label, frozenset(row.quantities), row.convention)
        for row in rows
    }
    if here.count() < len(containers) or len(instruments) < len(asked):
        raise NotFound
    uids = [one.uid for one in values if one.uid is not None]
    used = Fact.objects.filter(uid__in=uids).values_list("uid", flat=True)
    return Known(instruments, checks_of(asked), frozenset(used))


@dataclass(frozen=True, slots=True)
class Measured:
    """One value: the fact that tells it, and the reading if rules compare it."""

    uid: UUID
    told: Told
    reading: Reading | None


def measured_now(asking: Asking, site: UUID, given: Sequence[Value]) -> tuple[Measured, ...]:
    """Values typed with another change, such as a move. Bad ones are refused at their field.

    What a failed instrument is worth is for the rules of that change to say.
    """
    if not given:
        return ()
    values = [one.dated(asking) for one in given]
    known = known_of(site, values)
    faults = [
        fault
        for number, one in enumerate(values)
        for fault in known.faults(one, f"/readings/{number}")
    ]
    if faults:
        raise Refused(*faults)
    trust, rules = trust_in(known.instruments), rules_history(site)
    found = []
    for one in values:
        assert one.uid is not None
        assert one.performed_at is not None
        reading = reading_of(one.uid, one.body(), one.performed_at, trust, rules)
        found.append(Measured(one.uid, one.told({}), reading))
    return tuple(found)
