"""Amounts of what is given into water. Unit arithmetic only: what to give, and how much, is for
a veterinarian and the label to say."""

from typing import Annotated, Literal

from protocols.said import said
from protocols.water.domains import (
    AMOUNT,
    MG_L,
    PRODUCT_DENSITY,
    SALINITY,
    SHARE,
    STOCK_MG_ML,
    STRENGTH,
    TEMPERATURE,
    VOLUME,
    VOLUME_AS_SAID,
)
from protocols.water.quantity import quantity
from protocols.water.refused import out_of_domain
from protocols.water.seawater import density_kg_m3

LITRES = {"l": 1.0, "us_gal": 3.785411784, "imp_gal": 4.54609, "m3": 1000.0, "ml": 0.001}
VolumeUnit = Literal["l", "us_gal", "imp_gal", "m3", "ml"]
# Of what is dosed by its active part, how much is in the substance as weighed.
ACTIVE = {
    "copper_sulfate_pentahydrate": 63.546 / 249.685,
    "copper_sulfate_anhydrous": 63.546 / 159.609,
    "chloroquine_diphosphate_as_base": 319.872 / 515.862,
    "none": 1.0,
}
VETERINARIAN = (
    "Arithmetic, no advice: what to give, how much and how long is for a veterinarian, the "
    "label and local law.",
    "After a change of part of the water give again only for that part. Never mend too much "
    "with a second product: change water.",
)
COPPER = (
    "Ionic and chelated copper are not comparable. Measure copper, and remember that it kills "
    "invertebrates.",
)
FORMALIN = (
    "Formalin is poisonous and causes cancer: gloves, goggles, moving air. Not in warm, cloudy "
    "or oxygen-poor water; aerate strongly; never near bleach.",
)


@quantity(cautions=(*VETERINARIAN, *COPPER))
def dose_mass_g(
    *,
    volume: Annotated[float, VOLUME_AS_SAID],
    volume_unit: VolumeUnit = "l",
    target_mg_l: Annotated[float, MG_L],
    current_mg_l: Annotated[float, MG_L] = 0.0,
    active_fraction: Annotated[float, SHARE] = 1.0,
    purity: Annotated[float, SHARE] = 1.0,
) -> float:
    """A substance as weighed for a strength of its active part.

    Unit: g
    Formula: volume x (target - present) / active fraction / purity
    Range: any strength; "ppm" of something dissolved means mg/L
    Source: balance of mass
    Raises: OutOfDomain, also where the target is below the present
    """
    _upwards(target_mg_l, current_mg_l)
    grams = volume * LITRES[volume_unit] * (target_mg_l - current_mg_l) / 1000
    return grams / active_fraction / purity


@quantity(cautions=VETERINARIAN)
def liquid_dose_ml(
    *,
    volume_l: Annotated[float, VOLUME],
    target_mg_l: Annotated[float, MG_L],
    current_mg_l: Annotated[float, MG_L] = 0.0,
    product_mg_ml: Annotated[float, STOCK_MG_ML],
) -> float:
    """A liquid product for a strength of its active part.

    Unit: mL
    Formula: volume x (target - present) / strength of the product
    Range: any strength
    Source: balance of mass
    Raises: OutOfDomain, also where the target is below the present
    """
    _upwards(target_mg_l, current_mg_l)
    return volume_l * (target_mg_l - current_mg_l) / product_mg_ml


@quantity(cautions=COPPER)
def active_fraction(
    *,
    compound: Literal[
        "copper_sulfate_pentahydrate",
        "copper_sulfate_anhydrous",
        "chloroquine_diphosphate_as_base",
        "none",
    ],
) -> float:
    """How much of a compound as weighed is what is dosed.

    Unit: 1
    Formula: molar mass of the active part / molar mass of the compound
    Range: the compounds named
    Source: atomic weights of IUPAC
    Raises: OutOfDomain
    """
    return ACTIVE[compound]


@quantity(cautions=(*FORMALIN, *VETERINARIAN))
def formalin_volume_ml(
    *,
    volume_l: Annotated[float, VOLUME],
    target: Annotated[float, MG_L],
    basis: Literal["formalin_v/v_ppm", "formaldehyde_mg_l"],
    formaldehyde_percent_ww: Annotated[float, STRENGTH] = 37.0,
    density_g_ml: Annotated[float, PRODUCT_DENSITY] = 1.09,
) -> float:
    """Formalin for a bath. The two ways to say its strength differ by a factor of 2.5.

    Unit: mL
    Formula: uL of formalin in a litre (v/v ppm): volume x target / 1000; mg of formaldehyde in
        a litre: volume x target / (10 x percent x density)
    Range: any strength
    Source: balance of mass; the usage of fisheries for v/v ppm
    Raises: OutOfDomain
    """
    if basis == "formalin_v/v_ppm":
        return volume_l * target / 1000
    return volume_l * target / (10 * formaldehyde_percent_ww * density_g_ml)


@quantity()
def ppm_mass_to_mg_l(
    *,
    ppm: Annotated[float, AMOUNT],
    salinity: Annotated[float, SALINITY],
    temperature_c: Annotated[float, TEMPERATURE],
) -> float:
    """Parts per million by weight as mg/L; dose sheets mean mg/L when they say ppm.

    Unit: mg/L
    Formula: ppm x density / 1000
    Range: salinity 0 to 42, temperature -2 to 40 C
    Source: definition; density by TEOS-10
    Raises: OutOfDomain
    """
    return ppm * density_kg_m3(salinity=salinity, temperature_c=temperature_c) / 1000


@quantity()
def volume_to_litres(*, value: Annotated[float, AMOUNT], unit: VolumeUnit) -> float:
    """A volume in litres.

    Unit: L
    Formula: value x litres in the unit: US gallon 3.785411784, imperial gallon 4.54609
    Range: any volume
    Source: NIST Special Publication 811, exact
    Raises: OutOfDomain, with a question for a gallon that is nobody's
    """
    return value * LITRES[unit]


def _upwards(target_mg_l: float, current_mg_l: float) -> None:
    if target_mg_l < current_mg_l:
        allowed = said(
            "{current_mg_l:g} mg/L (the present) or more; to come down change water",
            current_mg_l=current_mg_l,
        )
        raise out_of_domain("target_mg_l", target_mg_l, allowed)
