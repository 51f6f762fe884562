"""What must not meet: in one container, in one bucket, in one room."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from protocols.library.values import Agent
from protocols.said import said

# The upper end of the target of tropical reef fish; the sources say "warm" without a figure.
WARM_C = Decimal("27.0")
OXYGEN_LEAST_PERCENT = Decimal("80")
FORMALIN_COOL_C = Decimal("21.0")
FORMALIN_WARM_MOST = Decimal("150")  # mL of formalin per cubic metre above 21 C

COPPER = frozenset({Agent.COPPER_IONIC, Agent.COPPER_CHELATED})
GAS = "irritates from about 5 ppm, is heavier than air and can kill"
PAIRS: Mapping[frozenset[Agent], tuple[str, str, str]] = {
    frozenset({Agent.BLEACH, Agent.ACID}): (
        "bleach_with_acid",
        said(
            "Bleach and acid (vinegar) make chlorine gas, which {gas}. Rinse, "
            "drain and air for an hour between them.",
            gas=GAS,
        ),
        "NIOSH and HSE limits for chlorine",
    ),
    frozenset({Agent.BLEACH, Agent.AMMONIA_WATER}): (
        "bleach_with_ammonia",
        "Bleach and ammonia water, or dirty fish water, make chloramine vapour.",
        "Stanford EHS, bleach solutions",
    ),
    frozenset({Agent.BLEACH, Agent.FORMALIN}): (
        "bleach_with_formalin",
        "Bleach and formalin react with heat and harmful vapours: never in one room.",
        "Francis-Floyd and Pouder, UF/IFAS VM061; Stanford EHS, bleach solutions",
    ),
    frozenset({Agent.COPPER_IONIC, Agent.HYPOSALINITY}): (
        "copper_with_hyposalinity",
        "Copper is more poisonous in water of low salinity: never both.",
        "Practice of keepers; Copper in marine systems, UF/IFAS FA165",
    ),
    frozenset({Agent.COPPER_CHELATED, Agent.HYPOSALINITY}): (
        "copper_with_hyposalinity",
        "Copper is more poisonous in water of low salinity: never both.",
        "Practice of keepers; Copper in marine systems, UF/IFAS FA165",
    ),
    frozenset({Agent.COPPER_IONIC, Agent.REDUCING_BINDER}): (
        "copper_with_binder",
        "A reducing water conditioner or binder of ammonia (thiosulfate and the like) turns "
        "copper into a form that is more poisonous and that tests do not show.",
        "Practice of keepers; makers of copper and of conditioners warn alike",
    ),
    frozenset({Agent.COPPER_CHELATED, Agent.REDUCING_BINDER}): (
        "copper_with_binder",
        "A reducing water conditioner or binder of ammonia (thiosulfate and the like) breaks "
        "up chelated copper and sets it free at once.",
        "Practice of keepers; makers of copper and of conditioners warn alike",
    ),
    frozenset({Agent.COPPER_IONIC, Agent.COPPER_CHELATED}): (
        "copper_twice",
        "Ionic and chelated copper add up, and one test cannot tell them apart.",
        "Copper in marine systems, UF/IFAS FA165",
    ),
}
FORMALIN_SOURCE = "Francis-Floyd and Pouder, Formalin, UF/IFAS VM061; practice of keepers"
PEROXIDE_SOURCE = "Montgomery-Brock et al. 2001; gill damage grows with warmth"


@dataclass(frozen=True, slots=True)
class WaterNow:
    """The water as measured: degrees Celsius, oxygen in percent of saturation, cloudy or not.

    None is not measured, and proves nothing.
    """

    temperature_c: Decimal | None = None
    oxygen_percent: Decimal | None = None
    cloudy: bool | None = None


@dataclass(frozen=True, slots=True)
class Clash:
    """Two things, or a thing and this water, that must not meet: why, and who says so."""

    rule: str
    text: str
    source: str
    numbers: Mapping[str, Any] = field(default_factory=dict)


NOTHING_KNOWN = WaterNow()


def may_meet(
    things: Iterable[Agent],
    water: WaterNow = NOTHING_KNOWN,
    *,
    formalin_ml_m3: Decimal | None = None,
) -> tuple[Clash, ...]:
    """Why these must not be in one place together, or in this water; empty where nothing is.

    `things` is what is in one container (or one room, for bleach, acid, ammonia and formalin)
    at one time; `formalin_ml_m3` the strength of formalin solution, if there is some. It
    never says that a mixture is safe: only which ones are known to be unsafe.
    """
    given = frozenset(things)
    found = [
        Clash(rule, text, source)
        for pair, (rule, text, source) in PAIRS.items()
        if pair <= given
    ]
    if Agent.FORMALIN in given:
        found += _formalin(water, formalin_ml_m3)
    if Agent.PEROXIDE in given:
        found += _peroxide(water)
    return tuple(found)


def _formalin(water: WaterNow, strength: Decimal | None) -> Iterator[Clash]:
    warm = water.temperature_c
    if warm is not None and warm > WARM_C:
        text = said(
            "Formalin in water above {warm_c} C takes oxygen that the water does not have.",
            warm_c=WARM_C,
        )
        yield _clash("formalin_warm", text, FORMALIN_SOURCE, warm, WARM_C)
    elif warm is not None and warm > FORMALIN_COOL_C and (strength or 0) > FORMALIN_WARM_MOST:
        text = said(
            "Above {formalin_cool_c} C no more than {formalin_warm_most} mL/m3.",
            formalin_cool_c=FORMALIN_COOL_C,
            formalin_warm_most=FORMALIN_WARM_MOST,
        )
        got = Decimal(strength or 0)
        yield _clash("formalin_strong", text, FORMALIN_SOURCE, got, FORMALIN_WARM_MOST)
    if water.cloudy:
        text = "Formalin in cloudy water: bacteria and formalin both use up the oxygen."
        yield Clash("formalin_cloudy", text, FORMALIN_SOURCE)
    oxygen = water.oxygen_percent
    if oxygen is not None and oxygen < OXYGEN_LEAST_PERCENT:
        text = "5 mg/L of formalin take 1 mg/L of oxygen: aerate hard first."
        yield _clash("formalin_oxygen", text, FORMALIN_SOURCE, oxygen, OXYGEN_LEAST_PERCENT)


def _peroxide(water: WaterNow) -> Iterator[Clash]:
    if water.temperature_c is not None and water.temperature_c > WARM_C:
        text = said("Peroxide in water above {warm_c} C damages gills.", warm_c=WARM_C)
        yield _clash("peroxide_warm", text, PEROXIDE_SOURCE, water.temperature_c, WARM_C)


def _clash(rule: str, text: str, source: str, got: Decimal, bound: Decimal) -> Clash:
    return Clash(rule, text, source, {"got": str(got), "bound": str(bound)})
