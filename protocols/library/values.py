"""What is given to animals or waited for, as frozen values: doses, times, water, stop signs."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum

from protocols.ruled import Range


class Stage(StrEnum):
    """What a protocol version is about."""

    MOVES = "moves"
    OBSERVATION = "observation"
    BATH = "bath"
    RAMP = "ramp"
    DOSE = "dose"
    FALLOW = "fallow"


class Agent(StrEnum):
    """What is put into water or onto equipment, as far as some must not meet others."""

    COPPER_IONIC = "copper_ionic"
    COPPER_CHELATED = "copper_chelated"
    CHLOROQUINE = "chloroquine"
    FORMALIN = "formalin"
    FRESH_WATER = "fresh_water"
    HYPOSALINITY = "hyposalinity"
    PRAZIQUANTEL = "praziquantel"
    PEROXIDE = "peroxide"
    BLEACH = "bleach"
    ACID = "acid"
    AMMONIA_WATER = "ammonia_water"
    REDUCING_BINDER = "reducing_binder"


class Veterinarian(StrEnum):
    """Whether a veterinarian has to say so. Local law may ask for more than this."""

    NO = "no"
    ADVISED = "advised"
    NEEDED = "needed"


@dataclass(frozen=True, slots=True)
class Dose:
    """How much of an agent: from `least` to `most` in `unit`, counted as `basis` says.

    It holds in water above `above_c` and up to `up_to_c` degrees Celsius, where they are named.
    """

    agent: Agent
    amount: Range
    unit: str
    basis: str
    above_c: Decimal | None = None
    up_to_c: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Times:
    """How long at once, how often, and how far apart; None where the sources say nothing."""

    least: timedelta
    most: timedelta | None = None
    doses: int = 1
    apart_least: timedelta | None = None
    apart_most: timedelta | None = None
    ramp_least: timedelta | None = None
    ramp_most: timedelta | None = None


@dataclass(frozen=True, slots=True)
class Clock:
    """Hours that count only while a measured quantity is in range."""

    quantity: str
    unit: str
    allowed: Range
    needed: timedelta
    restarts: bool
    gap_most: timedelta


@dataclass(frozen=True, slots=True)
class WaterAsked:
    """What the water must be like before anything is given."""

    temperature_most_c: Decimal | None = None
    oxygen_least_percent: Decimal | None = None
    clear: bool = False


@dataclass(frozen=True, slots=True)
class SalinityChange:
    """Practical salinity from where to where, how fast at most, in how long at least."""

    begins: Decimal
    reaches: Decimal
    down_per_day_most: Decimal
    up_per_day_most: Decimal
    down_least: timedelta
    up_least: timedelta


@dataclass(frozen=True, slots=True)
class Watched:
    """What is looked at while it lasts, and how often at least."""

    what: str
    every: timedelta


@dataclass(frozen=True, slots=True)
class FallowStep:
    """Days without fish for one organism, in water warmer than `above_c` all the time.

    `days` is None where no safe figure is known.
    """

    organism: str
    above_c: Decimal
    days: int | None


@dataclass(frozen=True, slots=True)
class Definition:
    """What every version says, whatever it is about."""

    name: str
    version: int
    sha256: str
    stage: Stage
    title: str
    addresses: tuple[str, ...]
    does_not_cover: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def key(self) -> str:
        return f"{self.name}@{self.version}"


@dataclass(frozen=True, slots=True)
class Treatment(Definition):
    """A bath, a ramp or a dose."""

    agents: tuple[Agent, ...]
    doses: tuple[Dose, ...]
    times: Times
    veterinarian: Veterinarian
    refused: tuple[str, ...]
    care: tuple[str, ...]
    watched: tuple[Watched, ...]
    stop_signs: tuple[str, ...]
    given_with: tuple[Agent, ...]
    water: WaterAsked
    clock: Clock | None = None
    change: SalinityChange | None = None


@dataclass(frozen=True, slots=True)
class Watch(Definition):
    """Days of observation: undisturbed, eating, looked at."""

    lasts: timedelta
    watched: tuple[Watched, ...]
    stop_signs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fallow(Definition):
    """How long a system stays without fish. Nothing is safe in water up to `never_up_to_c`."""

    steps: tuple[FallowStep, ...]
    never_up_to_c: Decimal
    restarts_at: tuple[str, ...]
