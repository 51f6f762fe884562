"""What floats and prisms show, turned into practical salinity."""

from typing import Annotated

from protocols.water.domains import EXPANSION, GRAVITY, READING, SALINITY, TEMPERATURE
from protocols.water.quantity import quantity
from protocols.water.refused import out_of_domain
from protocols.water.seawater import density_kg_m3
from protocols.water.solving import below_fresh, salinity_of_density

GLASS_PER_C = 2.5e-5
COMPENSATED = (
    "An instrument that compensates for temperature by itself must not be corrected again.",
)
BRINE = (
    "Only for scales made for table salt (NaCl). Set the instrument with a standard of 35 at "
    "the temperature of the water, not with fresh water alone.",
)


@quantity(cautions=COMPENSATED, flags=below_fresh("reading"))
def salinity_from_hydrometer(
    *,
    reading: Annotated[float, GRAVITY],
    water_temperature_c: Annotated[float, TEMPERATURE],
    calibration_temperature_c: Annotated[float, TEMPERATURE],
    reference_temperature_c: Annotated[float, TEMPERATURE],
    expansion_per_c: Annotated[float, EXPANSION] = GLASS_PER_C,
) -> float:
    """Salinity from a float that was made for another temperature than that of the water.

    Unit: 1
    Formula: the salinity at which the density at the temperature of the water is reading x
        density of pure water at the reference temperature / (1 + b x (water - calibration)),
        b = 2.5e-5 per C for glass, about 2e-4 for plastic
    Range: salinity 0 to 42, temperature -2 to 40 C
    Source: cubic expansion of glass as in ISO 649; densities by TEOS-10
    Raises: OutOfDomain
    """
    swollen = 1 + expansion_per_c * (water_temperature_c - calibration_temperature_c)
    pure = density_kg_m3(salinity=0.0, temperature_c=reference_temperature_c)
    found: float = salinity_of_density(
        lambda s, t: density_kg_m3(salinity=s, temperature_c=t),
        "reading",
        reading,
        reading * pure / swollen,
        water_temperature_c,
    )
    return found


@quantity(cautions=BRINE)
def salinity_from_nacl_refractometer(*, reading_ppt: Annotated[float, READING]) -> float:
    """Salinity from a refractometer whose scale is made for table salt: it shows too much.

    Unit: 1
    Formula: reading x 35 / 36.5
    Range: readings that mean a salinity of 0 to 50
    Source: 3.65 % NaCl by weight has the refractive index of sea water of salinity 35
    Raises: OutOfDomain
    """
    salinity = reading_ppt * 35 / 36.5
    if salinity > SALINITY.most:
        most = SALINITY.most * 36.5 / 35
        raise out_of_domain("reading_ppt", reading_ppt, f"0 to {most:.1f} ppt")
    return salinity
