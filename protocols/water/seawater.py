"""Sea water by TEOS-10 at one atmosphere: density, specific gravity, conductivity.

`salinity` is practical salinity (PSS-78). A tank has no longitude, so absolute salinity is the
reference salinity: practical salinity times 35.16504 / 35 g/kg.
"""

from typing import Annotated, Any

from protocols.water.domains import (
    CONDUCTIVITY,
    GRAVITY,
    SALINITY,
    SALINITY_OF_INDEX,
    TEMPERATURE,
    TEMPERATURE_OF_INDEX,
)
from protocols.water.maths import Level, ends, smaller
from protocols.water.quantity import quantity
from protocols.water.refused import out_of_domain
from protocols.water.solving import below_fresh, salinity_of_density

ABSOLUTE = 35.16504 / 35
SODIUM_D_NM = 589.3
# A conductivity computed from salinity 50 may give back a little more.
LAST_DIGIT = 1e-6


def gsw() -> Any:
    """The library of TEOS-10, loaded by whoever first needs it: it brings numpy with it."""
    import gsw as library

    return library


@quantity()
def density_kg_m3(
    *, salinity: Annotated[Level, SALINITY], temperature_c: Annotated[Level, TEMPERATURE]
) -> Level:
    """Density of sea water at one atmosphere.

    Unit: kg/m3
    Formula: density of TEOS-10 for the absolute salinity (salinity x 35.16504 / 35 g/kg) at
        this temperature and the pressure at the surface
    Range: salinity 0 to 42, temperature -2 to 40 C; above it is answered with a flag
    Source: TEOS-10 (IOC, SCOR and IAPSO 2010) by gsw; EOS-80 (UNESCO Technical Paper 44, 1983)
        differs by at most 0.009 kg/m3
    Raises: OutOfDomain
    """
    return _density(salinity, temperature_c)  # type: ignore[no-any-return]


def _density(salinity: Any, temperature_c: Any) -> Any:
    return gsw().rho_t_exact(salinity * ABSOLUTE, temperature_c, 0.0)


@quantity()
def specific_gravity(
    *,
    salinity: Annotated[Level, SALINITY],
    sample_temperature_c: Annotated[Level, TEMPERATURE],
    reference_temperature_c: Annotated[float, TEMPERATURE],
) -> Level:
    """What an instrument shows that compares the density of a sample with that of pure water.

    Unit: 1
    Formula: density of the sample at its temperature / density of pure water at the reference
        temperature
    Range: salinity 0 to 42, temperature -2 to 40 C
    Source: definition; densities by TEOS-10 (IOC, SCOR and IAPSO 2010)
    Raises: OutOfDomain
    """
    pure = _density(0.0, reference_temperature_c)
    return _density(salinity, sample_temperature_c) / pure  # type: ignore[no-any-return]


@quantity(flags=below_fresh("specific_gravity"))
def salinity_from_sg(
    *,
    specific_gravity: Annotated[Level, GRAVITY],
    sample_temperature_c: Annotated[Level, TEMPERATURE],
    reference_temperature_c: Annotated[float, TEMPERATURE],
) -> Level:
    """Salinity from a specific gravity and its convention (sample / pure water).

    Unit: 1
    Formula: the salinity at which the density of the sample is specific gravity x density of
        pure water at the reference temperature
    Range: salinity 0 to 42, temperature -2 to 40 C; a reading a little below fresh water (by at
        most salinity 0.5) is read as fresh, anything else outside 0 to 50 is refused
    Source: definition; densities by TEOS-10 (IOC, SCOR and IAPSO 2010)
    Raises: OutOfDomain
    """
    density = specific_gravity * _density(0.0, reference_temperature_c)
    return salinity_of_density(  # type: ignore[no-any-return]
        _density, "specific_gravity", specific_gravity, density, sample_temperature_c
    )


@quantity()
def conductivity_ms_cm(
    *, salinity: Annotated[Level, SALINITY], temperature_c: Annotated[Level, TEMPERATURE]
) -> Level:
    """Conductivity of sea water at one atmosphere, not compensated for temperature.

    Unit: mS/cm
    Formula: practical salinity scale of 1978 turned round, C(35, 15 C) = 42.914 mS/cm; nothing
        for salinity 0
    Range: salinity 2 to 42, temperature -2 to 35 C; below 2 with the term of Hill and others
    Source: PSS-78 (Perkin and Lewis 1980; Hill and others 1986) by gsw
    Raises: OutOfDomain
    """
    found = gsw().C_from_SP(salinity, temperature_c, 0.0)
    return found * (salinity > 0)  # type: ignore[no-any-return]


@quantity()
def salinity_from_conductivity(
    *,
    conductivity_ms_cm: Annotated[Level, CONDUCTIVITY],
    temperature_c: Annotated[Level, TEMPERATURE],
) -> Level:
    """Salinity from conductivity. A meter that shows values at 25 C wants 25 as temperature.

    Unit: 1
    Formula: practical salinity scale of 1978 over the ratio to C(35, 15 C) = 42.914 mS/cm
    Range: salinity 2 to 42, temperature -2 to 35 C; below 2 with the term of Hill and others
    Source: PSS-78 (Perkin and Lewis 1980; Hill and others 1986) by gsw
    Raises: OutOfDomain, also for what would be a salinity above 50
    """
    found = gsw().SP_from_C(conductivity_ms_cm, temperature_c, 0.0)
    _, highest = ends(found)
    if highest <= SALINITY.most:
        return found  # type: ignore[no-any-return]
    if highest > SALINITY.most + LAST_DIGIT:
        allowed = "what means a salinity of 0 to 50 at this temperature"
        raise out_of_domain("conductivity_ms_cm", ends(conductivity_ms_cm)[1], allowed)
    return smaller(found, SALINITY.most)  # type: ignore[no-any-return]


@quantity()
def refractive_index(
    *,
    salinity: Annotated[float, SALINITY_OF_INDEX],
    temperature_c: Annotated[float, TEMPERATURE_OF_INDEX],
) -> float:
    """Refractive index of sea water for yellow light (589.3 nm), to examine a refractometer.

    Unit: 1
    Formula: polynomial of Quan and Fry in salinity, temperature and wavelength
    Range: salinity 0 to 35, temperature 0 to 30 C, 400 to 700 nm
    Source: Quan and Fry 1995, Applied Optics 34:3477
    Raises: OutOfDomain
    """
    s, t, nm = salinity, temperature_c, SODIUM_D_NM
    salt = (1.779e-4 - 1.05e-6 * t + 1.6e-8 * t * t) * s
    light = (15.868 + 0.01155 * s - 0.00423 * t) / nm - 4382 / nm**2 + 1.1455e6 / nm**3
    return 1.31405 + salt - 2.02e-6 * t * t + light
