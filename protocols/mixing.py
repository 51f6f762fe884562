"""Recipes of the mixing room: how much salt, bleach, thiosulfate, as it can be weighed out.

Formulas are those of `protocols/water/`; here they are put together for one job, and their
results are rounded to what a scale or a jug shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import Any

from protocols.water import (
    hypochlorite_volume_ml,
    salt_mass_g,
    salt_to_raise_g,
    thiosulfate_mass_g,
    water_to_lower_l,
)

# Salt mixes hold water of crystals and of the air; the lot's own figure is better.
DRY_FRACTION_ASSUMED = Decimal("0.90")
# Where nobody has read the water that is to be matched.
SALINITY_PLANNED, TEMPERATURE_PLANNED_C = Decimal("33"), Decimal("26")
# Up to which amount a scale or a jug of that size shows which step.
KILOGRAMS = (("0.5", "0.001"), ("5", "0.005"), ("30", "0.01"), ("100", "0.05"))
KILOGRAMS_ABOVE = Decimal("0.5")
MILLILITRES = (("100", "1"), ("500", "5"), ("2000", "10"))
MILLILITRES_ABOVE = Decimal(50)
GRAMS = (("50", "0.5"), ("500", "1"), ("5000", "5"))
GRAMS_ABOVE = Decimal(50)


@dataclass(frozen=True, slots=True)
class Recipe:
    """Salt for one make. `salt_kg` as it can be weighed."""

    volume_l: Decimal
    salinity: Decimal
    temperature_c: Decimal
    dry_fraction: Decimal
    volume_basis: str
    salt_kg: Decimal


@dataclass(frozen=True, slots=True)
class Strength:
    """How strong a bottle of bleach is, by which basis, and how that is known."""

    percent: Decimal
    basis: str
    density_g_ml: Decimal | None = None
    known_from: str = "label"


@dataclass(frozen=True, slots=True)
class Bath:
    """A disinfection bath. Both amounts are rounded up: too little would be the danger."""

    volume_l: Decimal
    target_mg_l: Decimal
    bleach_ml: Decimal
    thiosulfate_g: Decimal
    contact: timedelta


def recipe(
    volume_l: Decimal,
    *,
    salinity: Decimal,
    temperature_c: Decimal,
    dry_fraction: Decimal,
    volume_basis: str = "final",
) -> Recipe:
    """Salt for so many litres; `volume_basis` as in `water.salt_mass_g`.

    Raises ValueError for what is out of domain.
    """
    kilograms = salt_of_make(
        volume_l=volume_l,
        salinity=salinity,
        temperature_c=temperature_c,
        dry_fraction=dry_fraction,
        volume_basis=volume_basis,
    )
    return Recipe(
        volume_l, salinity, temperature_c, dry_fraction, volume_basis, weighable_kg(kilograms)
    )


def salt_of_make(
    *,
    volume_l: Decimal,
    salinity: Decimal,
    temperature_c: Decimal,
    dry_fraction: Decimal,
    volume_basis: str = "final",
) -> Decimal:
    """Kilograms of salt that such a make takes, not rounded. Raises ValueError."""
    basis: Any = volume_basis
    grams = salt_mass_g(
        volume_l=float(volume_l),
        salinity=float(salinity),
        temperature_c=float(temperature_c),
        dry_fraction=float(dry_fraction),
        volume_basis=basis,
    )
    return Decimal(str(float(grams))) / 1000


def salt_to_add_kg(
    volume_l: Decimal,
    *,
    salinity_from: Decimal,
    salinity_to: Decimal,
    temperature_c: Decimal,
    dry_fraction: Decimal,
) -> Decimal:
    """Salt that raises so many litres of a make, as it can be weighed. Raises ValueError."""
    grams = salt_to_raise_g(
        volume_l=float(volume_l),
        salinity_from=float(salinity_from),
        salinity_to=float(salinity_to),
        temperature_c=float(temperature_c),
        dry_fraction=float(dry_fraction),
    )
    return weighable_kg(Decimal(str(float(grams))) / 1000)


def water_to_add_l(
    volume_l: Decimal,
    *,
    salinity_from: Decimal,
    salinity_to: Decimal,
    temperature_c: Decimal,
) -> Decimal:
    """Fresh water that lowers so many litres of a make, to a tenth. Raises ValueError."""
    litres = water_to_lower_l(
        volume_l=float(volume_l),
        salinity_from=float(salinity_from),
        salinity_to=float(salinity_to),
        temperature_c=float(temperature_c),
        mode="add",
    )
    return _stepped(Decimal(str(float(litres))), Decimal("0.1"), ROUND_HALF_UP)


def bath(
    volume_l: Decimal, strength: Strength, *, target_mg_l: Decimal, contact: timedelta
) -> Bath:
    """Bleach for a bath filled to `volume_l`, and thiosulfate to neutralise it afterwards.

    Thiosulfate crystals by the worst path (tetrathionate, 7 g to a gram of chlorine): too much
    only takes oxygen. Raises ValueError for what is out of domain.
    """
    known: dict[str, Any] = {"strength_basis": strength.basis}
    if strength.density_g_ml is not None:
        known["density_g_ml"] = float(strength.density_g_ml)
    millilitres = hypochlorite_volume_ml(
        volume_l=float(volume_l),
        target_mg_l=float(target_mg_l),
        strength_percent=float(strength.percent),
        **known,
    )
    grams = thiosulfate_mass_g(
        volume_l=float(volume_l), chlorine_mg_l=float(target_mg_l), reaction="tetrathionate"
    )
    return Bath(
        volume_l,
        target_mg_l,
        measurable_ml(Decimal(str(float(millilitres)))),
        weighable_g(Decimal(str(float(grams)))),
        contact,
    )


def weighable_kg(kilograms: Decimal) -> Decimal:
    """To the nearest step of a scale that carries so much: salt may be off to either side."""
    return _stepped(kilograms, _step(kilograms, KILOGRAMS, KILOGRAMS_ABOVE), ROUND_HALF_UP)


def weighable_g(grams: Decimal) -> Decimal:
    """Up to the next step of a scale that carries so much."""
    return _stepped(grams, _step(grams, GRAMS, GRAMS_ABOVE), ROUND_UP)


def measurable_ml(millilitres: Decimal) -> Decimal:
    """Up to the next mark of a jug that holds so much."""
    step = _step(millilitres, MILLILITRES, MILLILITRES_ABOVE)
    return _stepped(millilitres, step, ROUND_UP)


def _step(amount: Decimal, steps: Sequence[tuple[str, str]], above: Decimal) -> Decimal:
    return next((Decimal(step) for most, step in steps if amount <= Decimal(most)), above)


def _stepped(amount: Decimal, step: Decimal, rounding: str) -> Decimal:
    return (amount / step).quantize(Decimal(1), rounding=rounding) * step


# -- Stock of salt ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SaltUse:
    """Salt that went into a make; `reckoned` where nobody said what was weighed."""

    at: datetime
    mass_kg: Decimal
    reckoned: bool = False


def salt_left(
    received: Sequence[tuple[datetime, Decimal]],
    counted: Sequence[tuple[datetime, Decimal]],
    used: Sequence[SaltUse],
) -> Decimal | None:
    """Kilograms left of a lot: what was weighed last, with what came and went since.

    None while nobody told of any that came or was there. Below zero where more was used than
    came: some of it was not told.
    """
    if not received and not counted:
        return None
    since, there = max(counted, default=(None, Decimal(0)))
    came = sum((mass for at, mass in received if since is None or at > since), Decimal(0))
    went = sum((one.mass_kg for one in used if since is None or one.at > since), Decimal(0))
    return there + came - went
