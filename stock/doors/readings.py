"""Values measured in water, and instruments compared with a standard."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols import quantities
from protocols.clocks import utc_text
from protocols.upkeep import may_read_with
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.measured import Known, Value, known_of
from stock.ledger import Told
from stock.models import Instrument
from stock.queries.doubted import doubted_since
from stock.queries.readings import instrument_now, readings_taken
from stock.queries.sites import rules_history
from stock.refusals import refuse


@dataclass(frozen=True, slots=True)
class Series:
    """A probe's values, `step_s` seconds apart from `start`."""

    probe: UUID
    quantity: str
    unit: str
    start: datetime
    step_s: int
    values: tuple[str, ...]
    ph_scale: str | None = None
    reported_as: str | None = None

    def each(self, container: UUID, fact: UUID) -> list[Value]:
        """The single values with their times."""
        step = timedelta(seconds=self.step_s)
        return [
            Value(
                container,
                self.quantity,
                value,
                self.unit,
                instrument=self.probe,
                ph_scale=self.ph_scale,
                reported_as=self.reported_as,
                performed_at=self.start + n * step,
                uid=fact,
            )
            for n, value in enumerate(self.values)
        ]

    def body(self, container: UUID) -> dict[str, Any]:
        return {
            "container": container,
            "probe": self.probe,
            "quantity": self.quantity,
            "unit": self.unit,
            "start": utc_text(self.start),
            "step_s": self.step_s,
            "values": list(self.values),
            "ph_scale": self.ph_scale,
            "reported_as": self.reported_as,
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """An instrument held against a standard; without `quantity`, of the first it measures.

    Whether it passed follows from the two values. Somebody may say that it failed in spite of
    them (`passed` false), but not that it passed.
    """

    standard: str
    expected: str
    got: str
    quantity: str | None = None
    passed: bool = True

    def body(self, instrument: Instrument) -> dict[str, Any]:
        compared = self.quantity or instrument.quantities[0]
        near = quantities.passes(compared, expected=self.expected, got=self.got)
        return {
            "instrument": instrument.uid,
            "quantity": compared,
            "standard": self.standard,
            "expected": self.expected,
            "got": self.got,
            "passed": near and self.passed,
        }


def take_readings(asking: Asking, *, site: UUID, values: Sequence[Value]) -> Answered:
    """Values measured in containers of a site, each at its own time: all of them or none."""
    access.site_for(asking.person, site, access.HANDS)
    each = [one.dated(asking) for one in values]
    return enter(
        asking,
        site,
        Door(
            load=lambda log: known_of(site, each),
            ask=lambda known: value_faults(
                asking, site, each, known, [f"/readings/{n}" for n in range(len(each))]
            ),
            # The note of the request stands with the first value.
            tell=lambda known: [
                one.told(asking.texts if n == 0 else {}) for n, one in enumerate(each)
            ],
            show=lambda known: {"readings": readings_taken([_uid(one) for one in each])},
        ),
    )


def check_instrument(asking: Asking, *, instrument: UUID, compared: Comparison) -> Answered:
    """Compare an instrument with a standard; a failed check doubts what was read before."""
    row, site = access.thing_for(asking.person, Instrument, instrument, access.HANDS)
    body, at = compared.body(row), asking.performed_at
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=lambda _: (Told("instrument_checked", body, asking.uid, texts=asking.texts),),
            show=lambda _: {
                "instrument": instrument_now(instrument, max(asking.now, at)),
                "passed": body["passed"],
                "doubted": doubted_since(instrument, at),
            },
        ),
    )


def _uid(one: Value) -> UUID:
    assert one.uid is not None
    return one.uid


def value_faults(
    asking: Asking,
    site: UUID,
    values: Sequence[Value],
    known: Known,
    pointers: Sequence[str],
) -> Iterator[Reason]:
    """What is wrong with values, each at its pointer: itself, its time, its instrument."""
    ahead = timedelta(seconds=rules_history(site).at(asking.now).clock_ahead_max_s)
    latest = asking.now + ahead
    for one, pointer in zip(values, pointers, strict=True):
        at = one.performed_at or asking.performed_at
        if at > latest:
            text = "It has not been read yet."
            yield refuse("in_future", text, pointer=f"{pointer}/performed_at")
        yield from known.faults(one, pointer)
        if one.instrument is not None:
            label = known.instruments[one.instrument].label
            for reason in may_read_with(label, known.checks.get(one.instrument, ()), at):
                yield replace(reason, pointer=f"{pointer}/instrument")
