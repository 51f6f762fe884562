"""Bleach, what takes it away again, vinegar, and how long is long enough."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from protocols.said import said
from protocols.water.domains import (
    CT,
    FACTOR,
    MG_L,
    MINUTES,
    PERCENT,
    PRODUCT_DENSITY,
    RESIDUAL,
    STRENGTH,
    VOLUME,
)
from protocols.water.quantity import Flag, quantity
from protocols.water.refused import out_of_domain

CHLORINE, HYPOCHLORITE, ACETIC_ACID = 70.906, 74.442, 60.052
THIOSULFATE = {"pentahydrate": 248.184, "anhydrous": 158.108}
# Moles of thiosulfate for one of chlorine.
REACTIONS = {"sulfate": 0.25, "sulfur": 1.0, "tetrathionate": 2.0}

NEVER_TOGETHER = (
    "Never bleach and acid (vinegar), ammonia water or formalin together or in one room: "
    "chlorine gas and chloramines injure and kill. Rinse, drain and air between them."
)
BLEACH = (
    NEVER_TOGETHER,
    "Unscented bleach without soap only; bleach loses strength, so measure the bath. Clean "
    "first: dirt uses up chlorine. Gloves and eye protection.",
    "Neutralise and test for nil chlorine before animals, and mind the rules for waste water.",
)
NEUTRALISE = (
    NEVER_TOGETHER,
    "Test with a strip afterwards: total chlorine nil. Chloramine lets go of its ammonia.",
)
VINEGAR = (NEVER_TOGETHER, "Vinegar takes off scale; it does not disinfect.")
CONTACT = (
    NEVER_TOGETHER,
    "Clean first, and count with the strength that is left at the end. Dry completely after.",
)

Basis = Literal[
    "available_chlorine_w/v",
    "available_chlorine_w/w",
    "naocl_w/v",
    "naocl_w/w",
    "trade_percent",
]


@quantity(cautions=BLEACH)
def hypochlorite_volume_ml(
    *,
    volume_l: Annotated[float, VOLUME],
    target_mg_l: Annotated[float, MG_L],
    strength_percent: Annotated[float, STRENGTH],
    strength_basis: Basis,
    density_g_ml: Annotated[float, PRODUCT_DENSITY] | None = None,
    volume_basis: Literal["final", "initial"] = "final",
) -> float:
    """Bleach for a bath of so many mg/L of available chlorine.

    Unit: mL
    Formula: final volume: volume x target / strength; volume before bleach is added: volume x
        target / (strength - target). Strength in g/L: 10 x percent, by weight (w/w) x density
        of the product, as NaOCl x 70.906 / 74.442
    Range: any strength that the label says with its basis
    Source: balance of mass; molar masses Cl2 70.906, NaOCl 74.442
    Raises: OutOfDomain, also for a bath stronger than the product, or w/w without density
    """
    stock = _stock_g_l(strength_percent, strength_basis, density_g_ml)
    wanted = target_mg_l / 1000
    if wanted > stock or (volume_basis == "initial" and wanted == stock):
        raise out_of_domain(
            "target_mg_l", target_mg_l, f"below the product's own {stock * 1000:g} mg/L"
        )
    rest = stock if volume_basis == "final" else stock - wanted
    return volume_l * wanted / rest * 1000


def _stock_g_l(percent: float, basis: str, density_g_ml: float | None) -> float:
    """Grams of available chlorine in a litre of the product."""
    grams = 10 * percent
    if basis.startswith("naocl"):
        grams *= CHLORINE / HYPOCHLORITE
    if not basis.endswith("w/w"):
        return grams
    if density_g_ml is None:
        allowed = said(
            "needed where the strength is by weight: {allowed}", allowed=PRODUCT_DENSITY.allowed
        )
        raise out_of_domain("density_g_ml", "missing", allowed)
    return grams * density_g_ml


@quantity(cautions=NEUTRALISE)
def thiosulfate_mass_g(
    *,
    volume_l: Annotated[float, VOLUME],
    chlorine_mg_l: Annotated[float, MG_L],
    reaction: Literal["tetrathionate", "sulfur", "sulfate"] = "tetrathionate",
    form: Literal["pentahydrate", "anhydrous"] = "pentahydrate",
    safety_factor: Annotated[float, FACTOR] = 1.0,
) -> float:
    """Sodium thiosulfate that takes away this much chlorine.

    Unit: g
    Formula: volume x chlorine / 70.906 x moles of the reaction x molar mass x factor; for each
        g of chlorine 7.0 g of pentahydrate (tetrathionate), 3.5 g (sulfur) or 0.875 g (sulfate)
    Range: any amount; tetrathionate is the careful choice, too much only uses up oxygen
    Source: molar masses Na2S2O3 158.108, with 5 H2O 248.184, Cl2 70.906
    Raises: OutOfDomain
    """
    moles = volume_l * chlorine_mg_l / 1000 / CHLORINE * REACTIONS[reaction]
    return moles * THIOSULFATE[form] * safety_factor


@quantity(cautions=VINEGAR)
def acid_dilution_ml(
    *,
    final_volume_l: Annotated[float, VOLUME],
    target_percent: Annotated[float, PERCENT],
    stock_percent: Annotated[float, STRENGTH],
) -> float:
    """Vinegar, or another acid, for a rinse of a lower strength.

    Unit: mL
    Formula: final volume x target / strength of the product
    Range: both strengths on one basis; rinses against scale have 1 to 5 %
    Source: balance of mass
    Raises: OutOfDomain, also for a target above the product
    """
    if target_percent > stock_percent:
        raise out_of_domain(
            "target_percent", target_percent, f"0 to {stock_percent:g} % (the product)"
        )
    return final_volume_l * target_percent / stock_percent * 1000


@quantity(cautions=VINEGAR)
def acetic_acid_mol_l(*, acidity_percent_wv: Annotated[float, PERCENT]) -> float:
    """How much acetic acid is in vinegar of this acidity.

    Unit: mol/L
    Formula: 10 x percent / 60.052
    Range: percent by weight in volume (g in 100 mL)
    Source: molar mass of acetic acid 60.052
    Raises: OutOfDomain
    """
    return 10 * acidity_percent_wv / ACETIC_ACID


@quantity(cautions=CONTACT)
def contact_time_min(
    *, ct_mg_min_l: Annotated[float, CT], residual_mg_l: Annotated[float, RESIDUAL]
) -> float:
    """How long something has to stay in a bath in which this much chlorine is left at the end.

    Unit: min
    Formula: CT / strength left at the end
    Range: CT as your protocol says, such as 2000 for clean hard equipment
    Source: definition of CT
    Raises: OutOfDomain
    """
    return ct_mg_min_l / residual_mg_l


def _risen(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
    if given["end_mg_l"] > given["start_mg_l"]:
        yield Flag("rising", "end_mg_l", "Chlorine does not rise by itself: measure again.")


@quantity(cautions=CONTACT, flags=_risen)
def ct_mg_min_l(
    *,
    method: Literal["final_residual", "exponential_decay"] = "final_residual",
    start_mg_l: Annotated[float, MG_L],
    end_mg_l: Annotated[float, MG_L],
    minutes: Annotated[float, MINUTES],
) -> float:
    """What a bath has done: strength times time.

    Unit: mg*min/L
    Formula: by the strength at the end: end x minutes; by decay: minutes x (start - end) /
        ln(start / end)
    Range: the first is careful and what rules count; the second assumes an even decay
    Source: definition of CT; mean of an exponential decay
    Raises: OutOfDomain
    """
    if method == "final_residual" or start_mg_l == end_mg_l:
        return end_mg_l * minutes
    # Towards nothing at either end the mean of a decay goes to nothing as well.
    if start_mg_l == 0 or end_mg_l == 0:
        return 0.0
    return minutes * (start_mg_l - end_mg_l) / math.log(start_mg_l / end_mg_l)
