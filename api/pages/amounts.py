"""Readings and amounts as one person reads them; the record keeps what was typed."""

from decimal import Decimal

from django.utils.translation import gettext as _

from api.language import Figure, figure
from protocols.makes import shown
from protocols.quantities import FAHRENHEIT, in_own_unit
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.slip_amounts import BathAmount, FillAmount
from protocols.units import SORTS, Units
from protocols.units import shown as in_unit

WORDS = {"[pH]": "", "1": "", "Cel": "\N{DEGREE SIGN}C", "[degF]": "\N{DEGREE SIGN}F"}
METRIC = ("g", "kg")
# What was read under these names is shown in the person's own unit.
OWN = ("temperature", "salinity")


def litres(units: Units, volume_l: str | Decimal) -> str:
    """A volume in the person's own unit."""
    return f"{number(units, 'volume', Decimal(volume_l))} {units.of('volume').words}"


def degrees(units: Units, temperature_c: Decimal) -> str:
    """A temperature in the person's own unit."""
    return f"{number(units, 'temperature', temperature_c)} {units.of('temperature').words}"


def salinity(units: Units, practical: Decimal) -> str:
    """A practical salinity as a bare number, or a specific gravity with its convention."""
    if units.of("salinity").convention is None:
        return figure(shown(practical))
    return units.says("salinity", practical)


def mass(units: Units, kilos: Decimal) -> str:
    """A mass to be weighed: kilograms as the scale shows them, or the person's own unit."""
    if units.of("mass").name in METRIC:
        return _("{kilos:f} kg").format(kilos=Figure(kilos))
    return units.says("mass", kilos * 1000)


def on_a_slip(units: Units, amount: FillAmount | BathAmount) -> str:
    """What a task takes, in the person's own units."""
    if isinstance(amount, BathAmount):
        return amount.said(litres(units, amount.bath.volume_l))
    practical = salinity(units, amount.water.salinity)
    if units.of("salinity").convention is None:
        practical = _("salinity {practical}").format(practical=practical)
    return amount.said(litres(units, amount.litres), mass(units, amount.salt_kg), practical)


def number(units: Units, sort: str, kept: Decimal) -> str:
    """The number alone, where its unit stands elsewhere."""
    unit = units.of(sort)
    own = unit.name != SORTS[sort][0].name
    return figure(in_unit(unit, kept) if own else shown(kept))


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
    return f"{figure(value)} {WORDS.get(unit, unit)}".strip()


def _gravity(units: Units, value: str, convention: str | None) -> str:
    if convention is None:
        return _("{value}, nobody said by which convention").format(value=value)
    typed = _("SG {convention} {value}").format(convention=convention, value=value)
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
