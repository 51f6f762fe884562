"""How early cysts hatch and how long the parasite stays on the fish, by temperature.

*Cryptocaryon irritans*. Careful ends of what was published, not means: a shorter stay in one
container and a longer series are always the safe side.
"""

from bisect import bisect_right
from datetime import timedelta
from decimal import Decimal

HOUR = timedelta(hours=1)

# The earliest hatch in water above so many degrees Celsius.
HATCH = (
    (None, 96 * HOUR),
    (Decimal("20.0"), 72 * HOUR),
    (Decimal("28.0"), 48 * HOUR),
)
HATCH_SOURCE = (
    "Colorni 1985, Dis Aquat Org 1:19-22 (earliest hatch 3 days); container rotation study, "
    "Aquaculture 2018, doi 10.1016/j.aquaculture.2017.11.024 (2 to 3 days at 22 to 32 C, more "
    "than 4 days apart at 18 to 20 C)"
)
# The longest stay on the fish in water of at least so many degrees Celsius.
STAY = (
    (Decimal("18.0"), 424 * HOUR),
    (Decimal("20.0"), 299 * HOUR),
    (Decimal("22.0"), 211 * HOUR),
    (Decimal("24.0"), 168 * HOUR),
)
STAY_SOURCE = (
    "Colorni 1985 (3 to 7 days at 24 to 27 C); Diggles and Lester 1996, J Parasitol 82:45-51 "
    "(longer at 20 than at 25 C); below 24 C scaled by the rates of development that "
    "carry-over is reckoned with"
)


def earliest_hatch(temperature_c: Decimal) -> timedelta:
    """The earliest that cysts were seen to hatch in water of this temperature.

    Degrees Celsius; any value, as colder than studied only hatches later and warmer is given
    the shortest figure. Source: `HATCH_SOURCE`.
    """
    found = HATCH[0][1]
    for above, hours in HATCH[1:]:
        if above is not None and temperature_c > above:
            found = hours
    return found


def longest_on_fish(temperature_c: Decimal) -> timedelta | None:
    """The longest the parasite stays on the fish in water of this temperature.

    Degrees Celsius; None below 18, where no figure holds (months at 12 C). Warmer than 24 it
    is 168 h and no less. Source: `STAY_SOURCE`.
    """
    at = bisect_right(STAY, temperature_c, key=lambda one: one[0])
    return STAY[at - 1][1] if at else None
