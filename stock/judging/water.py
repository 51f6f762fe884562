"""Readings as numbers that can be trusted or not, and the water at a placement."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from protocols.matching import Checked, Water, in_check
from protocols.quantities import celsius
from protocols.values import Fact, Reading, RulesHistory, Temperatures
from stock.judging.facts import facts_about

Checks = Mapping[UUID, Sequence[Checked]]
MATCHED = ("salinity", "temperature")


def checks_of(instruments: Iterable[UUID], *, known_by: int | None = None) -> Checks:
    """The checks of these instruments, by time. One query."""
    found = facts_about(instruments, kinds=("instrument_checked",), known_by=known_by)
    return {
        uid: sorted(
            (Checked(fact.performed_at, fact.body["passed"]) for fact in facts),
            key=lambda one: one.at,
        )
        for uid, facts in found.items()
    }


def readings_in(facts: Iterable[Fact], checks: Checks, rules: RulesHistory) -> list[Reading]:
    """What was measured, by time, as practical salinity and degrees Celsius."""
    found = [_reading(fact, checks, rules) for fact in facts if fact.kind == "reading_taken"]
    return sorted((one for one in found if one), key=lambda one: (one.at, one.uid))


def water_at(
    readings: Sequence[Reading], at: datetime, named: frozenset[UUID] = frozenset()
) -> Water:
    """The newest of each quantity up to `at`; those a move named go before."""
    known = [one for one in readings if one.at <= at]
    newest: dict[str, Reading] = {}
    for one in [*known, *(one for one in known if one.uid in named)]:
        newest[one.quantity] = one
    return Water(salinity=newest.get("salinity"), temperature=newest.get("temperature"))


def temperatures(by_container: Mapping[UUID, Sequence[Reading]]) -> Temperatures:
    return {
        container: tuple(one for one in found if one.quantity == "temperature")
        for container, found in by_container.items()
    }


def instruments_in(facts: Iterable[Fact]) -> set[UUID]:
    return {
        UUID(fact.body["instrument"])
        for fact in facts
        if fact.kind == "reading_taken" and "instrument" in fact.body
    }


def _reading(fact: Fact, checks: Checks, rules: RulesHistory) -> Reading | None:
    body = fact.body
    if body["quantity"] not in MATCHED:
        return None
    is_temperature = body["quantity"] == "temperature"
    value = celsius(body["value"], body["unit"]) if is_temperature else Decimal(body["value"])
    instrument = UUID(body["instrument"]) if "instrument" in body else None
    every = timedelta(seconds=rules.at(fact.performed_at).instrument_check_every_s)
    state = "unknown"
    if instrument is not None:
        state = str(in_check(checks.get(instrument, ()), fact.performed_at, every=every))
    return Reading(
        uid=fact.uid,
        container=UUID(body["container"]),
        quantity=body["quantity"],
        value=value,
        at=fact.performed_at,
        instrument=instrument,
        in_check=state,
    )
