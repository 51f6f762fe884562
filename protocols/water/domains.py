"""What each argument may be: its unit, what is refused, what is answered with a flag."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from protocols import slips
from protocols.said import said


@dataclass(frozen=True, slots=True)
class Domain:
    """Numbers from `least` to `most`; with `above` not `least` itself.

    Outside `usual` a value is answered, with a flag. `unit` is that in the argument's name.
    """

    unit: str
    least: float = 0.0
    most: float = inf
    above: bool = False
    usual: tuple[float, float] = (-inf, inf)
    guess: Callable[[float], str | None] | None = None
    sort: str = ""  # of `protocols.units`, in whose units it may be said as well

    @property
    def allowed(self) -> str:
        unit = "" if self.unit == "1" else f" {self.unit}"
        if self.above:
            upper = "" if self.most == inf else said(", at most {most:g}", most=self.most)
            return said(
                "above {least:g}{upper}{unit}", least=self.least, upper=upper, unit=unit
            )
        if self.most == inf:
            return said("{least:g}{unit} or more", least=self.least, unit=unit)
        return said("{least:g} to {most:g}{unit}", least=self.least, most=self.most, unit=unit)

    def holds(self, least: float, most: float) -> bool:
        """Whether everything from `least` to `most` is allowed; what is no number is not."""
        low = least > self.least if self.above else least >= self.least
        return low and most <= self.most and most < inf


SALINITY = Domain("1", 0, 50, usual=(0, 42), guess=slips.no_salinity, sort="salinity")
# The fit of the dissociation of ammonium ends at 40.
SALINITY_OF_AMMONIA = Domain(
    "1", 0, 50, usual=(0, 40), guess=slips.no_salinity, sort="salinity"
)
# Quan and Fry measured up to here.
SALINITY_OF_INDEX = Domain("1", 0, 50, usual=(0, 35), guess=slips.no_salinity, sort="salinity")
TEMPERATURE = Domain("C", -2, 45, usual=(0, 40), guess=slips.fahrenheit, sort="temperature")
TEMPERATURE_OF_INDEX = Domain(
    "C", -2, 45, usual=(0, 30), guess=slips.fahrenheit, sort="temperature"
)
PH = Domain("1", 0, 14, usual=(6.5, 9.5), guess=slips.no_ph)
# Which of them is a salinity depends on temperatures; here only what can never be.
GRAVITY = Domain("1", 0.9, 1.1, guess=slips.no_specific_gravity)
CONDUCTIVITY = Domain("mS/cm", 0, 100, guess=slips.microsiemens, sort="conductivity")
PRESSURE = Domain("hPa", 300, 1100, guess=slips.pressure, sort="pressure")
ALTITUDE = Domain("m", -430, 9000, guess=slips.feet, sort="altitude")

VOLUME = Domain("L", above=True, sort="volume")
VOLUME_OR_NONE = Domain("L", sort="volume")
READING = Domain("ppt")
MASS_G = Domain("g", sort="mass")
MG_L = Domain("mg/L", sort="concentration")
TAN = Domain("mg/L", sort="ammonia")  # as nitrogen
RESIDUAL = Domain("mg/L", above=True, sort="concentration")
STOCK_MG_ML = Domain("mg/mL", above=True)
HOURS = Domain("h", sort="hours")
MINUTES = Domain("min", sort="minutes")
CT = Domain("mg*min/L")
# What another argument says the unit of.
AMOUNT = Domain("1")
VOLUME_AS_SAID = Domain("1", above=True)
FACTOR = Domain("1", 1)
LENGTH = Domain("cm", above=True, sort="length")
HEIGHT = Domain("cm", sort="length")
PRODUCT_DENSITY = Domain("g/mL", 0.5, 2, guess=slips.kilograms_in_cubic_metre)
EXPANSION = Domain("1/C", 0, 0.001)
STRENGTH = Domain("%", 0, 100, above=True)
PERCENT = Domain("%", 0, 100)
FEED = Domain("%", 0, 100, usual=(0, 20))

SHARE = Domain("1", 0, 1, above=True, guess=slips.percent, sort="share")
FRACTION = Domain("1", 0, 1, guess=slips.percent, sort="share")
