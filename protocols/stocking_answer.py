"""How many animals a container takes, as an answer: what binds, and what to change."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from protocols.stocking_forecast import Oxygen, Point, peak


class Binds(StrEnum):
    """What keeps more from going in."""

    AMMONIA = "ammonia"
    OXYGEN = "oxygen"
    ONE_PER_CELL = "one_per_cell"
    TOXIC_ALONE = "toxic_alone"


@dataclass(frozen=True, slots=True)
class Way:
    """Something to change so that they fit."""

    kind: str  # fewer, larger, water_change, less_feed, air_stone
    text: str
    numbers: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answer:
    """`most` of the first kind fit beside the others; None where nothing binds.

    `alarm_after_h` is when NH3 reaches the alarm, None where it does not during the stay.
    """

    asked: int
    most: int | None
    binds: Binds | None
    curve: tuple[Point, ...]
    alarm_mg_l: float
    alarm_after_h: float | None
    oxygen: Oxygen
    ways: tuple[Way, ...] = ()

    @property
    def fits(self) -> bool:
        return self.most is None or self.asked <= self.most

    @property
    def highest(self) -> Point:
        return peak(self.curve)
