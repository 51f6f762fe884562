"""The poisonous part of ammonia: pKa and pH on one scale."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from protocols.water.domains import MG_L, PH, SALINITY_OF_AMMONIA, TAN, TEMPERATURE
from protocols.water.maths import Level, anywhere, functions
from protocols.water.ph import LOWEST_FITTED, PhScale, ph_total
from protocols.water.quantity import Flag, quantity

# Molar masses, by what a test set says that it shows.
MOLAR = {"N": 14.007, "NH3": 17.031, "NH4": 18.039}
ReportedAs = Literal["N", "NH3", "NH4"]
ABOUT_15 = (
    "About \N{PLUS-MINUS SIGN}15 %: 0.1 of pH is 25 % of NH3. Tables in the manuals of test "
    "sets read 7 to 15 % higher at 25 C.",
    "A meter set with buffers 4, 7 and 10 shows the NBS scale.",
)
BINDERS = (
    "Test sets show nitrogen (N), NH3 or NH4: see the manual. Binders of ammonia and formalin "
    "mislead them.",
)


def uncertain(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
    """NBS below salinity 20 is carried on beyond the fit."""
    salinity = given["salinity"]
    if given["ph_scale"] == "NBS" and anywhere((salinity > 0) & (salinity < LOWEST_FITTED)):
        text = "Below salinity 20 the NBS scale is not fitted: take it as 10 % less certain."
        yield Flag("extrapolated", "salinity", text)


@quantity()
def pka_ammonium_total(
    *,
    temperature_c: Annotated[Level, TEMPERATURE],
    salinity: Annotated[Level, SALINITY_OF_AMMONIA],
) -> Level:
    """Dissociation of ammonium in sea water: pKa on the total scale, mol per kg of sea water.

    Unit: 1
    Formula: equation 18 of Clegg and Whitfield, less log10(1 - 0.001005 x salinity) to come
        from molal to mol/kg
    Range: salinity 0 to 40, temperature -2 to 40 C
    Source: Clegg and Whitfield 1995, Geochimica et Cosmochimica Acta 59:2403
    Raises: OutOfDomain
    """
    return pka(temperature_c, salinity)


def pka(temperature_c: Level, salinity: Level) -> Level:
    """The same without a check of the arguments."""
    m = functions(temperature_c, salinity)
    t, s = temperature_c + 273.15, salinity
    root = m.sqrt(t)
    found = 9.244605 - 2729.33 * (1 / 298.15 - 1 / t)
    found = found + (0.04203362 - 11.24742 / t) * s**0.25
    found = found + (-13.6416 + 1.176949 * root - 0.02860785 * t + 545.4834 / t) * s**0.5
    found = found + (-0.1462507 + 0.0090226468 * root - 0.0001471361 * t + 10.5425 / t) * s**1.5
    found = found + (0.004669309 - 0.0001691742 * root - 0.5677934 / t) * s**2
    found = found + (-2.354039e-5 + 0.009698623 / t) * s**2.5
    return found - m.log10(1 - 0.001005 * s)  # type: ignore[no-any-return]


@quantity(cautions=ABOUT_15, flags=uncertain)
def nh3_fraction(
    *,
    ph: Annotated[Level, PH],
    ph_scale: PhScale = "NBS",
    temperature_c: Annotated[Level, TEMPERATURE],
    salinity: Annotated[Level, SALINITY_OF_AMMONIA],
) -> Level:
    """The part of all ammonia that is free (NH3) and poisons.

    Unit: 1
    Formula: 1 / (1 + 10^(pKa - pH)), both on the total scale
    Range: salinity 0 to 40, temperature -2 to 40 C, pH 6.5 to 9.5; NBS fitted from salinity 20
    Source: Clegg and Whitfield 1995; Takahashi and others 1982 for NBS; Dickson 1990; Dickson
        and Riley 1979
    Raises: OutOfDomain
    """
    apart = pka(temperature_c, salinity) - ph_total(ph, ph_scale, temperature_c, salinity)
    return 1 / (1 + 10**apart)


@quantity(cautions=(*ABOUT_15, *BINDERS), flags=uncertain)
def nh3_n_mg_l(
    *,
    tan_mg_l: Annotated[Level, TAN],
    ph: Annotated[Level, PH],
    ph_scale: PhScale = "NBS",
    temperature_c: Annotated[Level, TEMPERATURE],
    salinity: Annotated[Level, SALINITY_OF_AMMONIA],
) -> Level:
    """Free ammonia, as nitrogen, in water with this much total ammonia (TAN, as nitrogen).

    Unit: mg/L NH3-N
    Formula: TAN x fraction of NH3
    Range: salinity 0 to 40, temperature -2 to 40 C, pH 6.5 to 9.5; NBS fitted from salinity 20
    Source: Clegg and Whitfield 1995; Takahashi and others 1982 for NBS
    Raises: OutOfDomain
    """
    part = nh3_fraction(
        ph=ph, ph_scale=ph_scale, temperature_c=temperature_c, salinity=salinity
    )
    return tan_mg_l * part


@quantity(cautions=BINDERS)
def ammonia_unit_convert(
    *, value: Annotated[float, MG_L], from_unit: ReportedAs, to_unit: ReportedAs
) -> float:
    """Ammonia said as nitrogen, as NH3 or as NH4.

    Unit: mg/L
    Formula: value x molar mass wanted / molar mass given (N 14.007, NH3 17.031, NH4 18.039)
    Range: any concentration
    Source: atomic weights of IUPAC
    Raises: OutOfDomain
    """
    return value * MOLAR[to_unit] / MOLAR[from_unit]
