"""pH from the scale on which it was read to the total scale."""

from typing import Any, Literal

from protocols.water.maths import Level, functions, larger, smaller

PhScale = Literal["NBS", "total", "free"]
# Takahashi's fit of the NBS scale begins at 20; below 5 its offset is led to nothing.
LOWEST_FITTED = 20.0
LOWEST_CARRIED = 5.0


def ph_total(ph: Level, scale: str, temperature_c: Level, salinity: Level) -> Level:
    """pH on the total scale; in fresh water all scales are one.

    NBS: activity of hydrogen ions by the fit of Takahashi and others 1982, salinity 20 to 40,
    carried on below. Free: sulfate by Dickson 1990. Arguments are checked by whoever asks.
    """
    if scale == "total":
        return ph
    m = functions(temperature_c, salinity)
    if scale == "free":
        sulfate, _ = _bound(m, temperature_c, salinity)
        return ph - m.log10(1 + sulfate)  # type: ignore[no-any-return]
    carried = larger(salinity, LOWEST_CARRIED)
    part = smaller(salinity / LOWEST_CARRIED, 1.0)
    sulfate, fluoride = _bound(m, temperature_c, carried)
    t = temperature_c + 273.15
    active = 1.2948 - 0.002036 * t + (0.0004607 - 0.000001475 * t) * carried * carried
    offset = m.log10(active) + m.log10((1 + sulfate + fluoride) / (1 + sulfate))
    return ph + offset * part  # type: ignore[no-any-return]


def _bound(m: Any, temperature_c: Any, salinity: Any) -> tuple[Any, Any]:
    """Hydrogen ions bound to sulfate and to fluoride for each free one.

    Dickson 1990 and Dickson and Riley 1979, free scale, mol per kg of sea water.
    """
    t, s = temperature_c + 273.15, salinity
    ionic, log_t = 19.924 * s / (1000 - 1.005 * s), m.log(t)
    to_kg = m.log(1 - 0.001005 * s)
    sulfate = m.exp(
        -4276.1 / t
        + 141.328
        - 23.093 * log_t
        + (-13856 / t + 324.57 - 47.986 * log_t) * ionic**0.5
        + (35474 / t - 771.54 + 114.723 * log_t) * ionic
        - 2698 / t * ionic**1.5
        + 1776 / t * ionic * ionic
        + to_kg
    )
    fluoride = m.exp(1590.2 / t - 12.641 + 1.525 * ionic**0.5 + to_kg)
    chlorinity = s / 1.80655
    return 0.14 / 96.062 * chlorinity / sulfate, 6.7e-5 / 18.998 * chlorinity / fluoride
