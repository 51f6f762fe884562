"""What a rule says of water, in the units of whoever is told."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from protocols.units import SORTS, Units
from protocols.values import Reason

OUT_OF_RANGE, MISMATCH = "out_of_range", "water_mismatch"


def in_own_units(reason: Reason, units: Units) -> Reason:
    """The reason with its sentence in this person's units; its numbers stay as they are.

    Whoever reads as it is kept, and whatever is not about temperature or salinity, is told as
    the rule says it.
    """
    quantity = str(reason.numbers.get("quantity", ""))
    if quantity not in ("temperature", "salinity"):
        return reason
    if units.of(quantity) is SORTS[quantity][0]:
        return reason
    if reason.code == OUT_OF_RANGE:
        return replace(reason, text=_range(reason.numbers, quantity, units))
    if reason.code == MISMATCH:
        return replace(reason, text=_mismatch(reason.numbers, quantity, units))
    return reason


def _range(numbers: Any, quantity: str, units: Units) -> str:
    value, least, most = (
        units.says(quantity, Decimal(numbers[name])) for name in ("value", "least", "most")
    )
    return _("{quantity} in the target is {value}, allowed {least} to {most}.").format(
        quantity=quantity.capitalize(), value=value, least=least, most=most
    )


def _mismatch(numbers: Any, quantity: str, units: Units) -> str:
    source, target = (
        units.says(quantity, Decimal(numbers[name])) for name in ("source", "target")
    )
    direction = str(numbers["direction"]).removeprefix("target_")
    verb = str(numbers["correction"]).removesuffix("_target")
    apart, most = (
        _apart(quantity, Decimal(numbers[name]), units) for name in ("difference", "allowed")
    )
    return _(
        "{quantity} of the target is {target}, of the source {source}: "
        "{apart} {direction}, allowed {most}: {verb} the target, then read "
        "it again."
    ).format(
        quantity=quantity.capitalize(),
        target=target,
        source=source,
        apart=apart,
        direction=direction,
        most=most,
        verb=verb,
    )


def _apart(quantity: str, difference: Decimal, units: Units) -> str:
    """A difference has no zero; that of a specific gravity is said in salinity."""
    unit = units.of(quantity)
    if unit.convention is not None:
        return _("{difference} of salinity").format(difference=difference)
    return f"{float(Fraction(difference) / unit.size):.1f} {unit.words}"
