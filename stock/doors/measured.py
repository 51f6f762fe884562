"""Values measured in containers: checked, made into facts, and numbers that rules can use."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols import quantities
from protocols.quantities import InstrumentKnown
from protocols.values import Reading
from stock import names
from stock.doors.door import Asking
from stock.judging.water import reading_of, trust_in
from stock.ledger import Told
from stock.models import Container, Instrument
from stock.queries.sites import rules_history
from stock.refusals import NotFound, Refused


@dataclass(frozen=True, slots=True)
class Measured:
    """One value: the fact that tells it, and the reading if rules compare it."""

    uid: UUID
    told: Told
    reading: Reading | None


def measured_now(
    asking: Asking, site: UUID, given: Sequence[Mapping[str, Any]]
) -> tuple[Measured, ...]:
    """Values typed with another change, such as a move. Bad ones are refused at their field."""
    if not given:
        return ()
    instruments = _instruments(site, given)
    _are_containers_here(site, given)
    faults = [
        fault
        for number, one in enumerate(given)
        for fault in quantities.faults(
            _as_said(one), _known(instruments, one), at=f"/readings/{number}"
        )
    ]
    if faults:
        raise Refused(*faults)
    trust, rules = trust_in(instruments), rules_history(site)
    found = []
    for one in given:
        uid, at = names.new_uid(asking.now), one.get("performed_at") or asking.performed_at
        body = _body(one)
        reading = reading_of(uid, body, at, trust, rules)
        found.append(Measured(uid, Told("reading_taken", body, uid, performed_at=at), reading))
    return tuple(found)


def _body(one: Mapping[str, Any]) -> dict[str, Any]:
    names_kept = ("container", "quantity", "value", "unit", "instrument")
    return {name: _plain(one[name]) for name in names_kept if one.get(name) is not None}


def _plain(value: Any) -> str:
    return value if isinstance(value, str) else str(value)


def _as_said(one: Mapping[str, Any]) -> quantities.Measured:
    return quantities.Measured(
        quantity=one["quantity"],
        value=one["value"],
        unit=one["unit"],
        instrument=one.get("instrument"),
        ph_scale=one.get("ph_scale"),
        reported_as=one.get("reported_as"),
    )


def _instruments(site: UUID, given: Sequence[Mapping[str, Any]]) -> dict[UUID, InstrumentKnown]:
    asked = {one["instrument"] for one in given if one.get("instrument")}
    rows = Instrument.objects.filter(uid__in=asked, site=site)
    found = {
        row.uid: InstrumentKnown(row.label, frozenset(row.quantities), row.convention)
        for row in rows
    }
    if len(found) < len(asked):
        raise NotFound
    return found


def _known(
    instruments: Mapping[UUID, InstrumentKnown], one: Mapping[str, Any]
) -> InstrumentKnown | None:
    uid = one.get("instrument")
    return None if uid is None else instruments[uid]


def _are_containers_here(site: UUID, given: Sequence[Mapping[str, Any]]) -> None:
    asked = {one["container"] for one in given}
    if Container.objects.filter(uid__in=asked, site=site).count() < len(asked):
        raise NotFound
