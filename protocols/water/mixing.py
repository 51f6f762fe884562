"""Making water, raising and lowering it: balances of mass over the density of sea water."""

from typing import Annotated, Literal

from protocols.water.domains import SALINITY, SHARE, TEMPERATURE, VOLUME, VOLUME_OR_NONE
from protocols.water.quantity import quantity
from protocols.water.refused import out_of_domain
from protocols.water.seawater import ABSOLUTE, density_kg_m3

# Salt mixes carry water of crystallisation and damp: 0.85 to 0.93 of what is weighed is salt.
DRY_FRACTION = 0.90
SALT = (
    "The dry fraction belongs to one product and lot: measure it with a small batch.",
    "Mix and aerate until clear, at least 12 hours, and measure before any animal goes in.",
)
NET = ("Rock, sand and equipment take up room: use the volume of the water itself.",)
SLOWLY = (
    "For animals a change of salinity is a treatment with limits of its own: raise by at most "
    "3 a day, lower by at most 10 a day.",
)
FRESH = ("Replace what evaporated with fresh water only, never with salt water.",)


@quantity(cautions=(*SALT, *NET))
def salt_mass_g(
    *,
    volume_l: Annotated[float, VOLUME],
    salinity: Annotated[float, SALINITY],
    temperature_c: Annotated[float, TEMPERATURE],
    dry_fraction: Annotated[float, SHARE] = DRY_FRACTION,
    volume_basis: Literal["final", "source_water"] = "final",
) -> float:
    """Salt as weighed for a volume of water of a salinity.

    Unit: g
    Formula: final volume: volume x density x s / f; volume of fresh water to begin with: volume
        x density of fresh water x s / (f - s); s = salinity x 35.16504 / 35000, f = dry
        fraction
    Range: salinity 0 to 42, temperature 0 to 40 C
    Source: balance of mass; density and absolute salinity by TEOS-10
    Raises: OutOfDomain
    """
    salt = _share(salinity)
    if volume_basis == "final":
        return volume_l * _density(salinity, temperature_c) * salt / dry_fraction
    _reachable(salinity, dry_fraction, "salinity")
    return volume_l * _density(0.0, temperature_c) * salt / (dry_fraction - salt)


@quantity(cautions=(*SALT, *SLOWLY))
def salt_to_raise_g(
    *,
    volume_l: Annotated[float, VOLUME],
    salinity_from: Annotated[float, SALINITY],
    salinity_to: Annotated[float, SALINITY],
    temperature_c: Annotated[float, TEMPERATURE],
    dry_fraction: Annotated[float, SHARE] = DRY_FRACTION,
) -> float:
    """Salt as weighed that raises the salinity of water already mixed.

    Unit: g
    Formula: volume x density x (s2 - s1) / (f - s2), s = salinity x 35.16504 / 35000, f = dry
        fraction
    Range: salinity 0 to 42, temperature 0 to 40 C
    Source: balance of mass; the water in the salt is counted
    Raises: OutOfDomain, also where the target is below the present
    """
    if salinity_to < salinity_from:
        raise out_of_domain(
            "salinity_to", salinity_to, f"{salinity_from:g} (the present) or more"
        )
    _reachable(salinity_to, dry_fraction, "salinity_to")
    more = _share(salinity_to) - _share(salinity_from)
    mass = volume_l * _density(salinity_from, temperature_c)
    return mass * more / (dry_fraction - _share(salinity_to))


@quantity(cautions=(*NET, *SLOWLY))
def water_to_lower_l(
    *,
    volume_l: Annotated[float, VOLUME],
    salinity_from: Annotated[float, SALINITY],
    salinity_to: Annotated[float, SALINITY],
    temperature_c: Annotated[float, TEMPERATURE],
    mode: Literal["replace", "add"],
) -> float:
    """Fresh water that lowers a salinity: added, or in place of as much that is drained first.

    Unit: L
    Formula: add: volume x density1 x (S1 - S2) / S2 / density of fresh water; replace: volume x
        (1 - density2 x S2 / (density1 x S1))
    Range: salinity 0 to 42, temperature 0 to 40 C
    Source: balance of mass; densities by TEOS-10
    Raises: OutOfDomain, also where the target is above the present or cannot be reached
    """
    if salinity_to > salinity_from:
        raise out_of_domain(
            "salinity_to", salinity_to, f"{salinity_from:g} (the present) or less"
        )
    if salinity_to == salinity_from:
        return 0.0
    before = _density(salinity_from, temperature_c)
    if mode == "replace":
        after = _density(salinity_to, temperature_c)
        return volume_l * (1 - after * salinity_to / (before * salinity_from))
    if salinity_to == 0:
        raise out_of_domain(
            "salinity_to", salinity_to, "above 0: no water added takes all salt out"
        )
    less = (salinity_from - salinity_to) / salinity_to
    return volume_l * before * less / _density(0.0, temperature_c)


@quantity()
def salinity_after_mix(
    *,
    volume1_l: Annotated[float, VOLUME_OR_NONE],
    salinity1: Annotated[float, SALINITY],
    volume2_l: Annotated[float, VOLUME_OR_NONE],
    salinity2: Annotated[float, SALINITY],
    temperature_c: Annotated[float, TEMPERATURE],
) -> float:
    """Salinity of two waters put together.

    Unit: 1
    Formula: mean of the two salinities by mass (volume x density)
    Range: salinity 0 to 42, temperature 0 to 40 C, both at one temperature
    Source: balance of mass; mixing by volume alone is wrong by 0.6 %
    Raises: OutOfDomain, also where there is no water at all
    """
    if volume1_l + volume2_l == 0:
        raise out_of_domain(
            "volume2_l", volume2_l, "above 0 L where the other volume is nothing"
        )
    one = volume1_l * _density(salinity1, temperature_c)
    two = volume2_l * _density(salinity2, temperature_c)
    return (one * salinity1 + two * salinity2) / (one + two)


@quantity(cautions=FRESH)
def salinity_after_evaporation(
    *,
    volume_l: Annotated[float, VOLUME],
    salinity: Annotated[float, SALINITY],
    evaporated_l: Annotated[float, VOLUME_OR_NONE],
    temperature_c: Annotated[float, TEMPERATURE],
) -> float:
    """Salinity after some of the water has gone into the air; the salt stays.

    Unit: 1
    Formula: salinity x mass / (mass - density of fresh water x evaporated)
    Range: salinity 0 to 42, temperature 0 to 40 C
    Source: balance of mass; densities by TEOS-10
    Raises: OutOfDomain, also where more is gone than there was, or more salt than water keeps
    """
    if evaporated_l >= volume_l:
        raise out_of_domain(
            "evaporated_l", evaporated_l, f"less than the {volume_l:g} L present"
        )
    mass = volume_l * _density(salinity, temperature_c)
    found = salinity * mass / (mass - evaporated_l * _density(0.0, temperature_c))
    if found > SALINITY.most:
        raise out_of_domain(
            "evaporated_l", evaporated_l, "what leaves a salinity of at most 50"
        )
    return found


def _density(salinity: float, temperature_c: float) -> float:
    return density_kg_m3(salinity=salinity, temperature_c=temperature_c)


def _share(salinity: float) -> float:
    """Grams of salt in a gram of water."""
    return salinity * ABSOLUTE / 1000


def _reachable(salinity: float, dry_fraction: float, name: str) -> None:
    if dry_fraction <= _share(salinity):
        raise out_of_domain(
            name, salinity, f"less salt than the product holds ({dry_fraction:g})"
        )
