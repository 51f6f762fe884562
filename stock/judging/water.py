"""Readings as numbers that can be trusted or not, and the water at a placement."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.codes import fact_uid
from protocols.matching import Checked, Water, in_check
from protocols.order import happenings
from protocols.quantities import in_own_unit
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.values import Happening, Reading, RulesHistory, Temperatures
from stock.judging.facts import facts_about
from stock.judging.words import words_about
from stock.models import Instrument

Checks = Mapping[UUID, Sequence[Checked]]
MATCHED = ("salinity", "temperature")
# How late a check was told changes nothing about it, and one told for later counts by then.
NO_RULES = RulesHistory(())
NEVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Trust:
    """Of some instruments: their checks by time, and by which convention they show density."""

    checks: Checks
    conventions: Mapping[UUID, str]


def trust_in(instruments: Iterable[UUID], *, known_by: int | None = None) -> Trust:
    """What is known of these instruments. Two queries."""
    wanted = list(instruments)
    rows = Instrument.objects.filter(uid__in=wanted, convention__isnull=False)
    conventions = {row.uid: str(row.convention) for row in rows}
    return Trust(checks_of(wanted, known_by=known_by), conventions)


def checks_of(instruments: Iterable[UUID], *, known_by: int | None = None) -> Checks:
    """The checks of these instruments as they are known now, by time. Three queries at most."""
    facts = facts_about(instruments, kinds=("instrument_checked",), known_by=known_by)
    told = {fact.uid: fact for found in facts.values() for fact in found}
    words = words_about(told, known_by=known_by)
    checks: dict[UUID, list[Checked]] = {}
    for one in happenings([*told.values(), *words], at=NEVER, rules=NO_RULES):
        checks.setdefault(UUID(one.body["instrument"]), []).append(_checked(one))
    return {uid: sorted(found, key=lambda one: one.at) for uid, found in checks.items()}


def _checked(one: Happening) -> Checked:
    """If its time is uncertain, a good one counts from the latest, a bad from the earliest."""
    passed = bool(one.body["passed"])
    return Checked(one.when.latest if passed else one.when.earliest, passed)


def readings_in(told: Iterable[Happening], trust: Trust, rules: RulesHistory) -> list[Reading]:
    """What was measured as it is known now, by time: practical salinity, degrees Celsius."""
    found = [
        reading_of(uid, body, at, trust, rules)
        for one in told
        for uid, body, at in values_in(one)
    ]
    return sorted((one for one in found if one), key=lambda one: (one.at, one.uid))


def values_in(told: Happening) -> Iterator[tuple[UUID, Mapping[str, Any], datetime]]:
    """The single values that a report tells: one, or a probe's series of them."""
    if told.kind == "reading_taken":
        yield told.uid, told.body, told.when.earliest
    elif told.kind == "readings_taken":
        start, step = parse_utc(told.body["start"]), timedelta(seconds=told.body["step_s"])
        for n, value in enumerate(told.body["values"]):
            body = {**told.body, "value": value, "instrument": told.body["probe"]}
            yield fact_uid(told.uid, "reading", str(n)), body, start + n * step


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


def instruments_in(told: Iterable[Happening]) -> set[UUID]:
    names = {"reading_taken": "instrument", "readings_taken": "probe"}
    return {UUID(one.body[names[one.kind]]) for one in told if names.get(one.kind) in one.body}


def reading_of(
    uid: UUID, body: Mapping[str, Any], at: datetime, trust: Trust, rules: RulesHistory
) -> Reading | None:
    """A reading as a number to compare; None for what is compared with nothing."""
    instrument = UUID(body["instrument"]) if "instrument" in body else None
    told = _comparable(body, trust.conventions.get(instrument) if instrument else None)
    if told is None or told[0] not in MATCHED:
        return None
    every = timedelta(seconds=rules.at(at).instrument_check_every_s)
    known = () if instrument is None else trust.checks.get(instrument, ())
    return Reading(
        uid=uid,
        container=UUID(body["container"]),
        quantity=told[0],
        value=told[1],
        at=at,
        instrument=instrument,
        in_check=str(in_check(known, at, every=every)),
    )


def _comparable(body: Mapping[str, Any], convention: str | None) -> tuple[str, Decimal] | None:
    """The quantity and number that rules compare: a specific gravity is a salinity by its
    instrument's convention."""
    value = Decimal(body["value"])
    if body["quantity"] != "specific_gravity":
        return in_own_unit(body["quantity"], value, body["unit"])
    if convention is None:
        return None
    try:
        return "salinity", from_specific_gravity(value, read_convention(convention))
    except NoSalinity:
        return None
