"""Ammonia that builds up without a filter."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from protocols.water.ammonia import ABOUT_15, nh3_n_mg_l, uncertain
from protocols.water.domains import (
    FEED,
    FRACTION,
    HOURS,
    MASS_G,
    PH,
    SALINITY_OF_AMMONIA,
    TAN,
    TEMPERATURE,
    VOLUME,
    Domain,
)
from protocols.water.ph import PhScale
from protocols.water.quantity import Flag, quantity

EXCRETION = Domain("mg TAN/kg/h")
# 0.16 nitrogen in protein, 0.80 of it taken up, 0.80 of that given off, 0.90 of that ammonia.
TAN_PER_PROTEIN = 0.092
ESTIMATE = (
    "An estimate: no filter, no uneaten food, evenly over the day. The reading decides.",
    "Protein of the food as fed: frozen food is mostly water, 0.45 is for dry pellets.",
)


def fasted(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
    """Fish without food give off ammonia all the same."""
    fish, food = given["fish_mass_g"], given["feed_percent_bw_day"]
    if fish > 0 and food == 0 and given["endogenous_mg_tan_kg_h"] == 0:
        text = "Fasted fish give off about 2 to 15 mg of TAN per kg and hour: say how much."
        yield Flag("fasted", "endogenous_mg_tan_kg_h", text)


@quantity(cautions=ESTIMATE, flags=fasted)
def tan_accumulated_mg_l(
    *,
    fish_mass_g: Annotated[float, MASS_G],
    feed_percent_bw_day: Annotated[float, FEED],
    protein_fraction: Annotated[float, FRACTION],
    hours: Annotated[float, HOURS],
    volume_l: Annotated[float, VOLUME],
    initial_tan_mg_l: Annotated[float, TAN] = 0.0,
    endogenous_mg_tan_kg_h: Annotated[float, EXCRETION] = 0.0,
    tan_per_protein: Annotated[float, FRACTION] = TAN_PER_PROTEIN,
) -> float:
    """Total ammonia (as nitrogen) that has built up after some hours without a filter.

    Unit: mg/L TAN-N
    Formula: at first + (feed x protein x 0.092 + excretion without food x fish x hours)
        / volume
    Range: linear in time: a mean over the day, highest 4 to 8 hours after a meal
    Source: Timmons and Ebeling, Recirculating Aquaculture; a factor of 0.128 is also used
    Raises: OutOfDomain
    """
    feed_g = fish_mass_g * feed_percent_bw_day / 100 * hours / 24
    from_food = feed_g * protein_fraction * tan_per_protein * 1000
    from_fish = endogenous_mg_tan_kg_h * fish_mass_g / 1000 * hours
    return initial_tan_mg_l + (from_food + from_fish) / volume_l


def _both(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
    yield from fasted(given, value)
    yield from uncertain(given, value)


@quantity(cautions=(*ESTIMATE, *ABOUT_15), flags=_both)
def nh3_n_after_hours_mg_l(
    *,
    fish_mass_g: Annotated[float, MASS_G],
    feed_percent_bw_day: Annotated[float, FEED],
    protein_fraction: Annotated[float, FRACTION],
    hours: Annotated[float, HOURS],
    volume_l: Annotated[float, VOLUME],
    initial_tan_mg_l: Annotated[float, TAN] = 0.0,
    endogenous_mg_tan_kg_h: Annotated[float, EXCRETION] = 0.0,
    tan_per_protein: Annotated[float, FRACTION] = TAN_PER_PROTEIN,
    ph: Annotated[float, PH],
    ph_scale: PhScale = "NBS",
    temperature_c: Annotated[float, TEMPERATURE],
    salinity: Annotated[float, SALINITY_OF_AMMONIA],
) -> float:
    """Free ammonia (as nitrogen) after some hours without a filter, at an unchanged pH.

    Unit: mg/L NH3-N
    Formula: total ammonia built up x fraction of NH3
    Range: salinity 0 to 40, temperature -2 to 40 C, pH 6.5 to 9.5; carbon dioxide lowers the
        pH, so an unchanged one is the careful case
    Source: Timmons and Ebeling, P_TAN; Clegg and Whitfield 1995
    Raises: OutOfDomain
    """
    total = tan_accumulated_mg_l(
        fish_mass_g=fish_mass_g,
        feed_percent_bw_day=feed_percent_bw_day,
        protein_fraction=protein_fraction,
        hours=hours,
        volume_l=volume_l,
        initial_tan_mg_l=initial_tan_mg_l,
        endogenous_mg_tan_kg_h=endogenous_mg_tan_kg_h,
        tan_per_protein=tan_per_protein,
    )
    return nh3_n_mg_l(
        tan_mg_l=total,
        ph=ph,
        ph_scale=ph_scale,
        temperature_c=temperature_c,
        salinity=salinity,
    )


@quantity()
def tan_after_water_change_mg_l(
    *,
    tan_mg_l: Annotated[float, TAN],
    fraction: Annotated[float, FRACTION],
    source_tan_mg_l: Annotated[float, TAN] = 0.0,
) -> float:
    """Total ammonia after a part of the water was changed.

    Unit: mg/L TAN-N
    Formula: before x (1 - fraction) + fresh water's x fraction
    Range: fraction 0 to 1 of the water
    Source: balance of mass
    Raises: OutOfDomain
    """
    return tan_mg_l * (1 - fraction) + source_tan_mg_l * fraction
