"""Which salinity has this density? The density rises with salinity, almost in a line."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from protocols.slips import no_specific_gravity
from protocols.water.domains import SALINITY
from protocols.water.maths import anywhere, ends, larger, smaller
from protocols.water.quantity import Flag, Flags
from protocols.water.refused import OutOfDomain, fault

# An instrument may show half a unit less than nothing and still be meant as fresh water.
BELOW_FRESH = 0.5
# Each step leaves less than a twentieth of the error, ten of them nothing that counts.
STEPS = 10
Density = Callable[[Any, Any], Any]


def salinity_of_density(
    density: Density, name: str, shown: Any, wanted: Any, temperature_c: Any
) -> Any:
    """The salinity 0 to 50 of water with this density; raises OutOfDomain of `name` outside.

    Goes along the chord from salinity 0 to 50, from which the density bends by a few percent.
    """
    fresh, salt = density(0.0, temperature_c), density(SALINITY.most, temperature_c)
    least = fresh - (density(BELOW_FRESH, temperature_c) - fresh)
    # What was computed from salinity 50 may come back a last digit heavier.
    salt_most = salt * (1 + 1e-12)
    if anywhere((wanted < least) | (wanted > salt_most)):
        raise OutOfDomain(_fault(name, shown, anywhere(wanted > salt_most)))
    chord = (salt - fresh) / SALINITY.most
    found = _within((wanted - fresh) / chord)
    for _ in range(STEPS):
        found = _within(found + (wanted - density(found, temperature_c)) / chord)
    return found


def below_fresh(name: str) -> Flags:
    """Says so where a reading lies below that of fresh water and is read as fresh."""

    def flags(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
        if ends(value)[0] == 0.0:
            text = "At or a little below fresh water: read as salinity 0. Check the instrument."
            yield Flag("clamped", name, text)

    return flags


def _within(salinity: Any) -> Any:
    return smaller(larger(salinity, SALINITY.least), SALINITY.most)


def _fault(name: str, shown: Any, heavy: bool) -> Any:
    least, most = ends(shown)
    wrong = float(most if heavy else least)
    allowed = "what means a salinity of -0.5 to 50 by this convention"
    return fault(name, wrong, allowed, no_specific_gravity(wrong))
