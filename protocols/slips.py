"""What somebody probably meant who typed a number that cannot be: another unit, a lost point.

Only ever a question ("did you mean ...?"), never a correction.
"""

from collections.abc import Callable, Mapping

from protocols.said import said

PERCENT = 100
MILLI = 1000
HPA_IN_INCH, HPA_IN_KPA, HPA_IN_PA = 33.8639, 10, 0.01
METRES_IN_FOOT = 0.3048


def fahrenheit(value: float) -> str | None:
    """A temperature far too high for Celsius: Fahrenheit, or kelvin."""
    if 32 <= value <= 113:
        return f"{(value - 32) / 1.8:.1f} C ({plain(value)} F)"
    if 271 <= value <= 318.2:
        return f"{value - 273.15:.1f} C ({plain(value)} K)"
    return None


def celsius(value: float) -> str | None:
    """A temperature far too low for Fahrenheit."""
    return f"{plain(value)} C ({value * 1.8 + 32:.1f} F)" if -2 <= value <= 45 else None


def no_salinity(value: float) -> str | None:
    """A number too high for a salinity: a conductivity, or parts per million."""
    if 50 < value <= 70:
        return said("a conductivity of {value} mS/cm", value=plain(value))
    if MILLI <= value <= 50 * MILLI:
        return said(
            "salinity {value} ({value_2} parts per million)",
            value=plain(value / MILLI),
            value_2=plain(value),
        )
    return None


def no_specific_gravity(value: float) -> str | None:
    """A salinity, a density in kg/m3, or a nought left out."""
    if 5 <= value <= 45:
        return said("salinity {value}", value=plain(value))
    if 990 <= value <= 1040:
        return f"{value / MILLI:.4g}"
    if 1.05 < value <= 1.4:
        return f"{1 + (value - 1) / 10:.4g}"
    return None


def no_ph(value: float) -> str | None:
    """A temperature, or a decimal point left out."""
    for tens in (10, 100):
        if 6.5 <= value / tens <= 9.5:
            return f"{plain(value / tens)}"
    return said("a temperature of {value} C", value=plain(value)) if 14 < value <= 40 else None


def microsiemens(value: float) -> str | None:
    """Conductivity in microsiemens per centimetre typed as millisiemens."""
    if 100 < value <= 100 * MILLI:
        return f"{plain(value / MILLI)} mS/cm ({plain(value)} uS/cm)"
    return None


def percent(value: float) -> str | None:
    """A part of one typed in percent."""
    return f"{plain(value / PERCENT)} ({plain(value)} %)" if 1 < value <= PERCENT else None


def pressure(value: float) -> str | None:
    """Station pressure in inches of mercury, kilopascals or pascals."""
    for name, each in (("inHg", HPA_IN_INCH), ("kPa", HPA_IN_KPA), ("Pa", HPA_IN_PA)):
        if 300 <= value * each <= 1100:
            return said(
                "{value} hPa ({value_2} {name})",
                value=plain(value * each),
                value_2=plain(value),
                name=name,
            )
    return None


def feet(value: float) -> str | None:
    """An altitude in feet."""
    metres = value * METRES_IN_FOOT
    return f"{metres:.0f} m ({plain(value)} ft)" if 2500 < metres <= 9000 else None


def kilograms_in_cubic_metre(value: float) -> str | None:
    """A density of a product in kg/m3 instead of g/mL."""
    return f"{plain(value / MILLI)} g/mL" if 700 <= value <= 2000 else None


def gallon(word: str) -> str | None:
    """A gallon of which nobody said whose."""
    bare = word.strip().lower().rstrip("s.") in ("gal", "gallon")
    return "us_gal (3.785 L) or imp_gal (4.546 L)" if bare else None


# Of readings: by quantity and by the unit in which it was said.
READINGS: Mapping[tuple[str, str], Callable[[float], str | None]] = {
    ("temperature", "Cel"): fahrenheit,
    ("temperature", "[degF]"): celsius,
    ("salinity", "1"): no_salinity,
    ("specific_gravity", "1"): no_specific_gravity,
    ("conductivity", "mS/cm"): microsiemens,
    ("ph", "[pH]"): no_ph,
}


def meant(quantity: str, value: float, unit: str) -> str | None:
    """What a reading outside its range may have been meant to say; None without a guess."""
    guess = READINGS.get((quantity, unit))
    return None if guess is None else guess(value)


def plain(value: float) -> str:
    """At most five digits, never with an exponent."""
    text = f"{value:.5g}"
    return f"{value:.0f}" if "e" in text else text
