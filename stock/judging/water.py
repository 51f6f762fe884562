"""Readings as numbers that can be trusted or not, and the water at a placement."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.codes import fact_uid
from protocols.matching import Checked, Water, in_check
from protocols.quantities import in_own_unit
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
    found = [
        reading_of(uid, body, at, checks, rules)
        for fact in facts
        for uid, body, at in _values(fact)
    ]
    return sorted((one for one in found if one), key=lambda one: (one.at, one.uid))


def _values(fact: Fact) -> Iterator[tuple[UUID, Mapping[str, Any], datetime]]:
    """The single values that a fact tells: one, or a probe's series of them."""
    if fact.kind == "reading_taken":
        yield fact.uid, fact.body, fact.performed_at
    elif fact.kind == "readings_taken":
        start, step = parse_utc(fact.body["start"]), timedelta(seconds=fact.body["step_s"])
        for n, value in enumerate(fact.body["values"]):
            body = {**fact.body, "value": value, "instrument": fact.body["probe"]}
            yield fact_uid(fact.uid, "reading", str(n)), body, start + n * step


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
    names = {"reading_taken": "instrument", "readings_taken": "probe"}
    return {
        UUID(fact.body[names[fact.kind]]) for fact in facts if names.get(fact.kind) in fact.body
    }


def reading_of(
    uid: UUID, body: Mapping[str, Any], at: datetime, checks: Checks, rules: RulesHistory
) -> Reading | None:
    """A reading as a number to compare; None for what is compared with nothing."""
    told = in_own_unit(body["quantity"], Decimal(body["value"]), body["unit"])
    if told is None or told[0] not in MATCHED:
        return None
    instrument = UUID(body["instrument"]) if "instrument" in body else None
    every = timedelta(seconds=rules.at(at).instrument_check_every_s)
    known = () if instrument is None else checks.get(instrument, ())
    return Reading(
        uid=uid,
        container=UUID(body["container"]),
        quantity=told[0],
        value=told[1],
        at=at,
        instrument=instrument,
        in_check=str(in_check(known, at, every=every)),
    )
