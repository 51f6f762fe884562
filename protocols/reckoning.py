"""A quantity of water reckoned from what somebody typed, in the units that people use."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import inf, isinf
from typing import Any

from protocols import slips
from protocols.ruled import Reason
from protocols.said import said
from protocols.units import NoUnit, Unit, to_kept, unit_of
from protocols.water import QUANTITIES, Answer, Argument, Fault, OutOfDomain
from protocols.water.refused import fault

TEXT_MOST = 20
NUMBER = re.compile(r"-?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
FORMS = "a number such as 25.4"


@dataclass(frozen=True, slots=True)
class Typed:
    """One argument as it was typed; without a unit it is in that of the argument's name."""

    value: str
    unit: str = ""


def reckon(name: str, typed: Mapping[str, Typed]) -> Answer:
    """The quantity of this name. Raises OutOfDomain with every fault; nothing is guessed."""
    quantity = QUANTITIES[name]
    given: dict[str, Any] = {}
    faults: list[Fault] = []
    for one, argument in quantity.arguments.items():
        if one not in typed:
            continue
        try:
            given[one] = _kept(argument, typed[one])
        except OutOfDomain as error:
            faults += error.faults
    bad = {one.name for one in faults}
    _, more = quantity.read(given)
    faults += [_as_typed(one, quantity.arguments, typed) for one in more if one.name not in bad]
    if faults:
        order = list(quantity.arguments)
        raise OutOfDomain(*sorted(faults, key=lambda one: order.index(one.name)))
    return quantity.answer_with_flags(given)


def reasons(error: OutOfDomain) -> tuple[Reason, ...]:
    """The faults as reasons, each at its field."""
    return tuple(
        Reason(
            code="unreadable",
            rule="water",
            text=one.text,
            numbers=one.numbers(),
            pointer=f"/{one.name}{'/unit' if one.of_unit else ''}",
        )
        for one in error.faults
    )


def _kept(argument: Argument, typed: Typed) -> Any:
    """What was typed as the quantity takes it: a word, or a number in its own unit."""
    if argument.domain is None:
        return typed.value
    unit = _unit(argument, typed)
    number = _number(argument, typed.value)
    if unit is None:
        return float(number)
    try:
        return float(to_kept(unit, number))
    except OutOfDomain as error:
        first = error.faults[0]
        again = fault(argument.name, typed.value, first.allowed, first.did_you_mean)
        raise OutOfDomain(again) from error
    except OverflowError:
        return inf


def _unit(argument: Argument, typed: Typed) -> Unit | None:
    assert argument.domain is not None
    if not argument.domain.sort:
        if typed.unit in ("", argument.domain.unit):
            return None
        allowed = "it has no unit" if argument.domain.unit == "1" else argument.domain.unit
        raise OutOfDomain(_of_unit(argument.name, typed.unit, allowed))
    try:
        return unit_of(argument.domain.sort, typed.unit)
    except NoUnit as error:
        meant = slips.gallon(typed.unit)
        raise OutOfDomain(_of_unit(argument.name, typed.unit, str(error), meant)) from error


def _number(argument: Argument, text: str) -> Decimal:
    """Digits with a point at most: an exponent may be longer than any number."""
    assert argument.domain is not None
    if len(text) > TEXT_MOST or NUMBER.fullmatch(text) is None:
        raise OutOfDomain(fault(argument.name, text, f"{FORMS}, {argument.domain.allowed}"))
    return Decimal(text)


def _of_unit(name: str, unit: str, allowed: str, meant: str | None = None) -> Fault:
    text = said(
        "{name} cannot be said in {unit}: {allowed}.",
        name=name,
        unit=unit[:TEXT_MOST],
        allowed=allowed,
    )
    question = "" if meant is None else said(" Did you mean {meant}?", meant=meant)
    found = fault(name, unit[:TEXT_MOST], allowed, meant)
    return replace(found, text=text + question, of_unit=True)


def _as_typed(
    one: Fault, arguments: Mapping[str, Argument], typed: Mapping[str, Typed]
) -> Fault:
    """A fault in the unit in which the value was typed, where that is another one."""
    argument, said = arguments[one.name], typed.get(one.name)
    if said is None or not said.unit or argument.domain is None or one.value == "missing":
        return one
    domain, unit = argument.domain, unit_of(argument.domain.sort, said.unit)
    if unit.convention is not None or (unit.size == 1 and unit.zero == 0):
        return one
    least, most = (
        None if isinf(end) else float(Fraction(end) / unit.size + unit.zero)
        for end in (domain.least, domain.most)
    )
    in_unit = replace(
        domain,
        unit=unit.words,
        least=-inf if least is None else least,
        most=inf if most is None else most,
    )
    meant = slips.meant(domain.sort, float(said.value), said.unit)
    value = f"{said.value} {unit.words}"
    return fault(one.name, value, in_unit.allowed, meant, least, most)
