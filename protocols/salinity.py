"""Practical salinity from what instruments show: specific gravity, conductivity.

Floats inside, as the formulas are fits to measurements; the answer is a Decimal to 0.01.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt

LOWEST, HIGHEST = 0.0, 50.0
STEPS = 60
CONVENTION = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?/ ?([0-9]+(?:\.[0-9]+)?) ?°?([CF]?)")


class NoSalinity(ValueError):
    """The value cannot be a salinity, or nobody knows by which convention it was read."""


@dataclass(frozen=True, slots=True)
class Convention:
    """Temperatures (degrees Celsius) of sample and pure water behind a specific gravity."""

    sample_c: float
    reference_c: float


def read_convention(text: str) -> Convention:
    """`25/25`, `20/20 C` or `60/60 F`: sample temperature over that of pure water."""
    found = CONVENTION.fullmatch(text.strip())
    if found is None:
        raise NoSalinity(f"{text} is no convention such as 25/25 C")
    sample, reference = float(found[1]), float(found[2])
    if found[3] == "F":
        sample, reference = (sample - 32) / 1.8, (reference - 32) / 1.8
    return Convention(sample, reference)


def from_specific_gravity(value: Decimal, convention: Convention) -> Decimal:
    """Practical salinity 0 to 50 at which water has this specific gravity.

    Density of sea water at one atmosphere after EOS-80 (UNESCO Technical Paper 44, 1983).
    Values a little below fresh water are read as fresh. Raises NoSalinity for others outside.
    """
    wanted = float(value) * _density(0.0, convention.reference_c)
    return _solved(lambda salinity: _density(salinity, convention.sample_c), wanted)


def from_conductivity(ms_cm: Decimal, temperature_c: Decimal) -> Decimal:
    """Practical salinity 0 to 50 of water with this conductivity (mS/cm) at one atmosphere.

    PSS-78 (Perkin and Lewis 1980), S 2 to 42, with the term of Hill and others 1986 below 2.
    A meter that shows values compensated to 25 C wants 25 as temperature.
    """
    t = 1.00024 * float(temperature_c)
    per_standard = _polynomial(t, 0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9)
    ratio = float(ms_cm) / 42.9140 / per_standard
    if ratio < 0:
        raise NoSalinity("no water conducts less than nothing")
    root, k = sqrt(ratio), (t - 15) / (1 + 0.0162 * (t - 15))
    salinity = _polynomial(root, 0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081)
    salinity += k * _polynomial(root, 0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144)
    if salinity < 2:
        x, y = 400 * ratio, 100 * ratio
        salinity -= 0.0080 / (1 + 1.5 * x + x * x)
        salinity -= k * 0.0005 / (1 + sqrt(y) + y + y * sqrt(y))
    if salinity > HIGHEST:
        raise NoSalinity("no sea water conducts so well")
    return _rounded(max(salinity, LOWEST))


def _density(salinity: float, temperature_c: float) -> float:
    """Kilograms per cubic metre at one atmosphere."""
    t = 1.00024 * temperature_c
    fresh = _polynomial(
        t, 999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9
    )
    salt = _polynomial(t, 0.824493, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
    more = _polynomial(t, -5.72466e-3, 1.0227e-4, -1.6546e-6)
    return fresh + salt * salinity + more * salinity * sqrt(salinity) + 4.8314e-4 * salinity**2


def _polynomial(x: float, *factors: float) -> float:
    total = 0.0
    for factor in reversed(factors):
        total = total * x + factor
    return total


def _solved(rising: Callable[[float], float], wanted: float) -> Decimal:
    """The salinity at which a rising function has the wanted value, by halving."""
    # Half a unit below fresh water is the error of a cheap instrument, more is a mistake.
    least = rising(LOWEST) - (rising(0.5) - rising(LOWEST))
    if not least <= wanted <= rising(HIGHEST):
        raise NoSalinity("no sea water is so light or so heavy")
    low, high = LOWEST, HIGHEST
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return _rounded(low)


def _rounded(salinity: float) -> Decimal:
    return Decimal(str(salinity)).quantize(Decimal("0.01"))
