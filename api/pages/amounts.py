"""Readings and volumes as one person reads them; the record keeps what was typed."""

from decimal import Decimal

from protocols.quantities import FAHRENHEIT, in_own_unit
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.units import Units

WORDS = {"[pH]": "", "1": "", "Cel": "\N{DEGREE SIGN}C", "[degF]": "\N{DEGREE SIGN}F"}
# What was read under these names is shown in the person's own unit.
OWN = ("temperature", "salinity")


def litres(units: Units, volume_l: str | Decimal) -> str:
    """A volume in the person's own unit."""
    return units.says("volume", Decimal(volume_l))


def reading(
    units: Units, quantity: str, value: str, unit: str, convention: str | None = None
) -> str:
    """A reading with its unit. In the person's own unit it stands as it was typed.

    A specific gravity is a salinity by the convention of its instrument, and is shown with that
    convention to whoever reads the same.
    """
    if quantity == "specific_gravity":
        return _gravity(units, value, convention)
    if quantity in OWN and units.of(quantity).name != unit:
        kept = in_own_unit(quantity, Decimal(value), unit)
        if kept is not None:
            return units.says(quantity, kept[1], rounded=unit == FAHRENHEIT)
    return f"{value} {WORDS.get(unit, unit)}".strip()


def _gravity(units: Units, value: str, convention: str | None) -> str:
    if convention is None:
        return f"{value}, nobody said by which convention"
    typed = f"SG {convention} {value}"
    own = units.of("salinity")
    if own.convention is not None and own.convention == _read(convention):
        return typed
    try:
        salinity = from_specific_gravity(Decimal(value), read_convention(convention))
    except NoSalinity:
        return typed
    return f"{units.says('salinity', salinity)} ({typed})"


def _read(convention: str) -> object:
    try:
        return read_convention(convention)
    except NoSalinity:
        return None
