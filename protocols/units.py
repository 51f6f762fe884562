"""Units in which people say and read what is kept in SI and practical salinity.

Conversions are exact fractions, so that nothing is lost on the way: only what is shown is
rounded, and a text that shows a stored value is read back as that value itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from protocols.salinity import Convention, read_convention
from protocols.water import OutOfDomain, salinity_from_sg, specific_gravity

GRAVITY = "SG "
POUND_G = Fraction("453.59237")
INCH_CM = Fraction("2.54")


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of a sort: `base = (value - zero) * size`; how it is written beside a number.

    `places` is how many decimals a person wants to read.
    """

    name: str
    words: str
    size: Fraction = Fraction(1)
    zero: Fraction = Fraction(0)
    places: int = 1

    @property
    def convention(self) -> Convention | None:
        """The convention of a specific gravity; None for all others, which are proportional."""
        if not self.name.startswith(GRAVITY):
            return None
        return read_convention(self.name.removeprefix(GRAVITY))


def _gravity(convention: str) -> Unit:
    return Unit(f"{GRAVITY}{convention}", f"SG {convention}", places=4)


# The first of each sort is the one in which values are kept.
SORTS: Mapping[str, tuple[Unit, ...]] = {
    "temperature": (
        Unit("Cel", "\N{DEGREE SIGN}C"),
        Unit("[degF]", "\N{DEGREE SIGN}F", Fraction(5, 9), Fraction(32)),
    ),
    "salinity": (
        Unit("1", "salinity"),
        _gravity("25/25"),
        _gravity("20/20"),
        _gravity("60/60 F"),
        _gravity("15/15"),
        _gravity("25/4"),
    ),
    "volume": (
        Unit("L", "L"),
        Unit("us_gal", "US gal", Fraction("3.785411784")),
        Unit("imp_gal", "imp gal", Fraction("4.54609")),
        Unit("m3", "m\N{SUPERSCRIPT THREE}", Fraction(1000), places=4),
        Unit("mL", "mL", Fraction(1, 1000), places=0),
    ),
    "mass": (
        Unit("g", "g"),
        Unit("kg", "kg", Fraction(1000), places=3),
        Unit("oz", "oz", POUND_G / 16, places=2),
        Unit("lb", "lb", POUND_G, places=2),
    ),
    "length": (
        Unit("cm", "cm"),
        Unit("mm", "mm", Fraction(1, 10), places=0),
        Unit("m", "m", Fraction(100), places=3),
        Unit("in", "in", INCH_CM, places=2),
    ),
    "altitude": (
        Unit("m", "m", places=0),
        Unit("ft", "ft", INCH_CM * 12 / 100, places=0),
    ),
    "pressure": (
        Unit("hPa", "hPa"),
        Unit("kPa", "kPa", Fraction(10), places=2),
        Unit("mmHg", "mmHg", Fraction("1.333224")),
        Unit("inHg", "inHg", Fraction("33.86389"), places=2),
    ),
    "conductivity": (
        Unit("mS/cm", "mS/cm", places=2),
        Unit("uS/cm", "\N{MICRO SIGN}S/cm", Fraction(1, 1000), places=0),
        Unit("S/m", "S/m", Fraction(10), places=3),
    ),
    "ammonia": (
        Unit("mg/L N", "mg/L as N", places=3),
        Unit("mg/L NH3", "mg/L as NH3", Fraction("14.007") / Fraction("17.031"), places=3),
        Unit("mg/L NH4", "mg/L as NH4", Fraction("14.007") / Fraction("18.039"), places=3),
    ),
    "concentration": (
        Unit("mg/L", "mg/L", places=3),
        Unit("g/L", "g/L", Fraction(1000), places=4),
        Unit("ug/L", "\N{MICRO SIGN}g/L", Fraction(1, 1000), places=0),
    ),
    "hours": (
        Unit("h", "h"),
        Unit("d", "days", Fraction(24), places=2),
        Unit("min", "min", Fraction(1, 60), places=0),
    ),
    "minutes": (Unit("min", "min"), Unit("h", "h", Fraction(60), places=2)),
    "share": (Unit("1", "(0 to 1)", places=3), Unit("%", "%", Fraction(1, 100))),
}


# What a person may choose to read in, and in which units.
PERSONAL: Mapping[str, tuple[str, ...]] = {
    "temperature": ("Cel", "[degF]"),
    "salinity": ("1", "SG 25/25", "SG 20/20", "SG 60/60 F", "SG 15/15", "SG 25/4"),
    "volume": ("L", "us_gal", "imp_gal"),
    "mass": ("g", "kg", "oz", "lb"),
}


class NoUnit(ValueError):
    """Nobody says this sort of thing in such a unit."""


@dataclass(frozen=True, slots=True)
class Units:
    """The units in which one person reads; what they did not choose is as it is kept."""

    chosen: Mapping[str, str]

    def of(self, sort: str) -> Unit:
        """What they chose, if it is still one that may be chosen."""
        name = self.chosen.get(sort, "")
        return unit_of(sort, name if name in PERSONAL.get(sort, ()) else "")

    def says(self, sort: str, kept: Decimal, *, rounded: bool = False) -> str:
        """A kept value with its unit, as this person reads it.

        `rounded` in whichever unit: for what was converted before. A salinity that is none by
        their convention is said as salinity.
        """
        unit = self.of(sort)
        try:
            places = unit.places if rounded else None
            return _with_words(unit, shown(unit, kept, places=places))
        except OutOfDomain:
            return _with_words(unit_of(sort, ""), format(kept, "f"))


def _with_words(unit: Unit, number: str) -> str:
    """The words behind the number; those of a salinity or a gravity before it."""
    before = unit in SORTS["salinity"]
    return f"{unit.words} {number}" if before else f"{number} {unit.words}"


def unit_of(sort: str, name: str) -> Unit:
    """A unit by its name; the one in which values are kept where the name is empty."""
    for unit in SORTS[sort]:
        if name in (unit.name, ""):
            return unit
    raise NoUnit(f"say it in {', '.join(unit.name for unit in SORTS[sort])}")


def to_kept(unit: Unit, value: Decimal) -> Decimal | Fraction:
    """A value as it is kept: in SI, or practical salinity.

    Exact but for a specific gravity. Raises OutOfDomain where that cannot be a salinity.
    """
    convention = unit.convention
    if convention is None:
        return (Fraction(value) - unit.zero) * unit.size
    return Fraction(
        salinity_from_sg(
            specific_gravity=float(value),
            sample_temperature_c=convention.sample_c,
            reference_temperature_c=convention.reference_c,
        )
    )


def shown(unit: Unit, kept: Decimal, *, places: int | None = None) -> str:
    """A kept value as a person reads it in this unit, without the unit.

    In the unit in which it is kept it is shown as it is. Raises OutOfDomain for a salinity that
    has no specific gravity.
    """
    if unit.size == 1 and unit.zero == 0 and unit.convention is None and places is None:
        return format(kept, "f")
    number = _in_unit(unit, kept)
    scaled = round(number * 10 ** (places if places is not None else unit.places))
    return format(Decimal(scaled).scaleb(-(unit.places if places is None else places)), "f")


def read_back(unit: Unit, text: Decimal, before: Decimal | None = None) -> Decimal:
    """What was typed, as it is kept. Where it is what `before` is shown as, it is `before`.

    So whoever opens a form and sends it unchanged changes nothing. Otherwise to a millionth.
    """
    if before is not None and text == Decimal(shown(unit, before)):
        return before
    if unit.size == 1 and unit.zero == 0 and unit.convention is None:
        return text
    millionths = round(Fraction(to_kept(unit, text)) * 10**6)
    return Decimal(millionths).scaleb(-6).normalize()


def _in_unit(unit: Unit, kept: Decimal) -> Fraction:
    convention = unit.convention
    if convention is None:
        return Fraction(kept) / unit.size + unit.zero
    return Fraction(
        specific_gravity(
            salinity=float(kept),
            sample_temperature_c=convention.sample_c,
            reference_temperature_c=convention.reference_c,
        )
    )
