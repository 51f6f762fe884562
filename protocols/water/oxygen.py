"""Oxygen: how much water can hold, by temperature, salinity and the pressure of the air."""

from typing import Annotated

from protocols.water.domains import ALTITUDE, MG_L, PRESSURE, SALINITY, TEMPERATURE
from protocols.water.maths import Level, functions
from protocols.water.quantity import quantity
from protocols.water.refused import out_of_domain

ATMOSPHERE_HPA = 1013.25
STATION = (
    "Weather reports give the pressure at sea level: use that of the station, or the altitude.",
)
PROBE = ("A probe set to salinity 0 shows about 22 % too much mg/L in sea water.",)


@quantity()
def pressure_from_altitude_hpa(*, altitude_m: Annotated[float, ALTITUDE]) -> float:
    """Usual pressure of the air at an altitude.

    Unit: hPa
    Formula: 1013.25 x (1 - 2.25577e-5 x altitude)^5.25588
    Range: -430 to 9000 m
    Source: International Standard Atmosphere, 1976
    Raises: OutOfDomain
    """
    found: float = ATMOSPHERE_HPA * (1 - 2.25577e-5 * altitude_m) ** 5.25588
    return found


@quantity(cautions=STATION)
def o2_saturation_mg_l(
    *,
    temperature_c: Annotated[Level, TEMPERATURE],
    salinity: Annotated[Level, SALINITY],
    pressure_hpa: Annotated[float, PRESSURE] | None = None,
    altitude_m: Annotated[float, ALTITUDE] | None = None,
) -> Level:
    """Oxygen in water that is in balance with the air above it: 100 % of saturation.

    Unit: mg/L
    Formula: Benson and Krause in temperature and salinity, corrected for the pressure of the
        air less that of water vapour
    Range: temperature 0 to 40 C, salinity 0 to 42; at 1013.25 hPa unless a pressure or an
        altitude is told
    Source: Benson and Krause 1984 as printed in APHA 4500-O; within 0.03 % of Garcia and Gordon
        1992
    Raises: OutOfDomain, also where both a pressure and an altitude are told
    """
    hpa = _pressure(pressure_hpa, altitude_m)
    m = functions(temperature_c, salinity)
    kelvin, air = temperature_c + 273.15, hpa / ATMOSPHERE_HPA
    at_sea = m.exp(
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.2438e10 / kelvin**3
        - 8.621949e11 / kelvin**4
        - salinity * (1.7674e-2 - 10.754 / kelvin + 2140.7 / kelvin**2)
    )
    vapour = m.exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * temperature_c + 6.436e-8 * temperature_c**2
    thin = air * (1 - vapour / air) * (1 - theta * air) / ((1 - vapour) * (1 - theta))
    return at_sea * thin  # type: ignore[no-any-return]


@quantity(cautions=(*STATION, *PROBE))
def o2_percent_saturation(
    *,
    do_mg_l: Annotated[Level, MG_L],
    temperature_c: Annotated[Level, TEMPERATURE],
    salinity: Annotated[Level, SALINITY],
    pressure_hpa: Annotated[float, PRESSURE] | None = None,
    altitude_m: Annotated[float, ALTITUDE] | None = None,
) -> Level:
    """Measured oxygen as a percentage of what the water can hold.

    Unit: %
    Formula: 100 x measured / saturation
    Range: temperature 0 to 40 C, salinity 0 to 42
    Source: Benson and Krause 1984 as printed in APHA 4500-O
    Raises: OutOfDomain, also where both a pressure and an altitude are told
    """
    full = o2_saturation_mg_l(
        temperature_c=temperature_c,
        salinity=salinity,
        pressure_hpa=pressure_hpa,
        altitude_m=altitude_m,
    )
    return do_mg_l * 100 / full


def _pressure(pressure_hpa: float | None, altitude_m: float | None) -> float:
    if pressure_hpa is not None and altitude_m is not None:
        allowed = "nothing where a pressure is told: say one of the two"
        raise out_of_domain("altitude_m", altitude_m, allowed)
    if altitude_m is not None:
        return pressure_from_altitude_hpa(altitude_m=altitude_m)
    return ATMOSPHERE_HPA if pressure_hpa is None else pressure_hpa
