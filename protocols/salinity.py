"""Practical salinity from what instruments show, as rules compare it: a Decimal to 0.01."""

import re
from dataclasses import dataclass
from decimal import Decimal

from protocols.water import OutOfDomain, salinity_from_conductivity, salinity_from_sg

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

    Values a little below fresh water are read as fresh. Raises NoSalinity for others outside,
    and for a convention with temperatures that no water has.
    """
    try:
        found = salinity_from_sg(
            specific_gravity=float(value),
            sample_temperature_c=convention.sample_c,
            reference_temperature_c=convention.reference_c,
        )
    except OutOfDomain as error:
        raise NoSalinity(str(error)) from error
    return _rounded(found)


def from_conductivity(ms_cm: Decimal, temperature_c: Decimal) -> Decimal:
    """Practical salinity 0 to 50 of water with this conductivity (mS/cm).

    A meter that shows values compensated to 25 C wants 25 as temperature. Raises NoSalinity.
    """
    try:
        found = salinity_from_conductivity(
            conductivity_ms_cm=float(ms_cm), temperature_c=float(temperature_c)
        )
    except OutOfDomain as error:
        raise NoSalinity(str(error)) from error
    return _rounded(found)


def _rounded(salinity: float) -> Decimal:
    return Decimal(str(salinity)).quantize(Decimal("0.01"))
