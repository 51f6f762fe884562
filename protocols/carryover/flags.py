"""What weakens a figure: water outside what the model knows, and what nobody said."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from protocols.carryover.inputs import Inputs
from protocols.carryover.rates import COLDEST_C, WARMEST_C

COOL_C, WARM_C = 22.0, 28.0
UNREAD_H = 12.0


@dataclass(frozen=True, slots=True)
class Flag:
    name: str
    hours: float | None = None  # so many hours of it, where it has hours


def flags(record: Inputs) -> tuple[Flag, ...]:
    """All that should stand beside the figure of this record."""
    return (*_of_water(record), *(Flag(f"{each}_assumed") for each in sorted(record.assumed)))


def _of_water(record: Inputs) -> Iterator[Flag]:
    hour, celsius = zip(*record.temperature_c, strict=True)
    warmth = np.interp(np.arange(record.end) + 0.5, hour, celsius)
    counted = {
        "below_18_c": warmth < COLDEST_C,
        "above_32_c": warmth > WARMEST_C,
        "below_22_c": warmth < COOL_C,
        "above_28_c": warmth > WARM_C,
    }
    for name, those in counted.items():
        if hours := int(those.sum()):
            yield Flag(name, hours)
    longest = _longest_unread(record)
    if longest > UNREAD_H:
        yield Flag("temperature_unread", round(longest, 1))


def _longest_unread(record: Inputs) -> float:
    """Hours of the longest time without a reading of the temperature."""
    read = [hour for hour, _ in record.temperature_c if 0 < hour < record.end]
    return float(np.diff([0.0, *read, float(record.end)]).max())
