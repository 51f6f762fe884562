"""What the model is told of one batch, in hours since it was placed."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

GRACE_H = 1 / 60 + 1e-9


def whole_hour(hour: float) -> int:
    """The hour of the grid: up, except for one minute of grace."""
    return max(ceil(hour - GRACE_H), 0)


@dataclass(frozen=True, slots=True)
class Gear:
    """A container or kit as it stood when the animals met it."""

    prior_cysts: float  # expected living cysts that its last users left
    hours_since_use: float
    disinfected: bool
    dry_h: float

    @property
    def ready(self) -> bool:
        """Disinfected and dry for 24 h: it brings nothing (S42)."""
        return self.disinfected and self.dry_h >= 24


@dataclass(frozen=True, slots=True)
class Stay:
    """One container from `start_h` up to `end_h`. The water carried came with the animals."""

    start_h: float
    end_h: float
    volume_l: float
    water_carried_ml: float = 0.0
    gear: tuple[Gear, ...] = ()
    lights_on_h: float | None = None  # local hour of day; None as the record says
    lights_off_h: float | None = None

    @property
    def first(self) -> int:
        return whole_hour(self.start_h)

    @property
    def end(self) -> int:
        return whole_hour(self.end_h)


@dataclass(frozen=True, slots=True)
class Death:
    hour: float
    removed_after_h: float  # so long the carcass was in the water


@dataclass(frozen=True, slots=True)
class Join:
    hour: float
    fish: int
    parasites_per_fish: float


@dataclass(frozen=True, slots=True)
class Exposure:
    """Infections from outside, expected per hour."""

    start_h: float
    end_h: float
    infections_per_h: float


@dataclass(frozen=True, slots=True)
class Inputs:
    """One record. `assumed` names what nobody said: load, prior_cysts, death_hour, …"""

    fish: int
    parasites_per_fish: float
    start_clock_h: float  # local hour of day at hour 0
    lights_on_h: float
    lights_off_h: float
    temperature_c: tuple[tuple[float, float], ...]  # (hour, degrees Celsius), rising hours
    stays: tuple[Stay, ...]
    deaths: tuple[Death, ...] = ()
    joins: tuple[Join, ...] = ()
    exposure: tuple[Exposure, ...] = ()
    assumed: frozenset[str] = frozenset()
    barren: frozenset[int] = frozenset()  # stays in which no theront infects: to find causes

    @property
    def end(self) -> int:
        """The last hour of the record, T."""
        return self.stays[-1].end


Records = Sequence[Inputs]
