"""What follows from facts: states, verdicts, series, deviations."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any
from uuid import UUID

from protocols.ruled import Reason
from protocols.told import When


class Verdict(StrEnum):
    """Whether a stay ended within its limit."""

    ON_TIME = "on_time"
    WITHIN_TOLERANCE = "within_tolerance"
    UNPROVEN = "unproven"
    OVER = "over"


class SeriesState(StrEnum):
    UNBROKEN = "unbroken"
    UNPROVEN = "unproven"
    WAITING = "waiting"
    BROKEN = "broken"
    COMPLETE = "complete"


class Effect(StrEnum):
    """What a deviation does until a person decides."""

    BROKE = "broke"
    ASKS = "asks"
    WARNS = "warns"


class Decision(StrEnum):
    KEEP = "keep"
    RESTART = "restart"
    VOID = "void"


class State(StrEnum):
    """State of a piece, a kit or a container at a moment."""

    IN_USE = "in_use"
    DIRTY = "dirty"
    DISINFECTED = "disinfected"
    DRYING = "drying"
    READY = "ready"
    INCOMPLETE = "incomplete"
    DEFECTIVE = "defective"


@dataclass(frozen=True, slots=True)
class Readiness:
    """Whether a piece, kit or container may be used, since when, from when on, and why not."""

    state: State
    since: datetime | None = None
    ready_at: datetime | None = None
    why: tuple[Reason, ...] = ()

    @property
    def is_ready(self) -> bool:
        return self.state is State.READY


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value of a container's water."""

    uid: UUID
    container: UUID
    quantity: str
    value: Decimal
    at: datetime
    instrument: UUID | None = None
    in_check: str = "unknown"  # good, doubted, unknown


@dataclass(frozen=True, slots=True)
class Cover:
    """How long a span was inside, outside and unknown; gaps prove nothing."""

    inside: timedelta
    outside: timedelta
    unknown: timedelta


@dataclass(frozen=True, slots=True)
class Placing:
    """What is known of the place, the kit and the water at one placement.

    For a piece fitted while in use, `container` is the readiness of that piece. For something
    given to the water, `water` is what the version it was given under says against it.
    """

    container: Readiness
    kit: Readiness | None = None
    water: tuple[Reason, ...] = ()


# Placings by stay, or by the fact that fitted a piece or gave something; temperatures by
# container, by time.
Places = Mapping[UUID, Placing]
Temperatures = Mapping[UUID, tuple[Reading, ...]]


@dataclass(frozen=True, slots=True)
class Stay:
    """One batch in one container, placement to placement."""

    uid: UUID
    container: UUID
    kit: UUID | None
    began: When
    limit: datetime | None  # None once nothing limits it
    ended: When | None = None
    ended_by: UUID | None = None  # the happening that ended it
    verdict: Verdict | None = None
    over: timedelta = timedelta(0)
    batch: UUID | None = None  # whose stay it was, where history came through a split or join
    taken_over: When | None = None  # since when it is that batch's, if another's before

    @property
    def length(self) -> timedelta | None:
        """The cautious reading: to the latest end from the earliest beginning."""
        return None if self.ended is None else self.ended.latest - self.began.earliest


@dataclass(frozen=True, slots=True)
class Series:
    """The stays and moves that count together towards the `moves` stage."""

    number: int
    state: SeriesState
    started: When | None
    moves: int
    moves_needed: int
    elapsed: timedelta
    needed: timedelta
    earliest_end: datetime | None
    earliest_end_if_kept: datetime | None = None
    ended: When | None = None
    why: str | None = None  # late, joined, sign, decision, all_lost


@dataclass(frozen=True, slots=True)
class Observation:
    state: str  # running, stopped, done
    started: When
    ends_at: datetime
    elapsed: timedelta
    stopped_by: UUID | None = None


@dataclass(frozen=True, slots=True)
class Deviation:
    """An open question whether a rule was kept. Batch, rule and cause name it for ever."""

    batch: UUID
    rule: str
    cause: UUID
    effect: Effect
    at: datetime
    numbers: Mapping[str, Any] = field(default_factory=dict)
    by: UUID | None = None  # whose action opened it
    beside: frozenset[UUID] = frozenset()  # who did that with them
    decided: Decision | None = None
    decided_by: UUID | None = None  # the deciding fact
    closed: bool = False

    @property
    def is_open(self) -> bool:
        return not self.closed and self.decided is None

    def is_own(self, who: Collection[UUID]) -> bool:
        """Whether it came from what these did, and nobody else is among them."""
        return self.by is not None and not frozenset(who) - {self.by} - self.beside


@dataclass(frozen=True, slots=True)
class Hold:
    uid: UUID
    at: datetime
    why: str
    by: UUID


@dataclass(frozen=True, slots=True)
class Unaccounted:
    """Animals that nobody has found, not known to be dead: since which happening, and where."""

    fact: UUID
    container: UUID
    count: int
    since: datetime


@dataclass(frozen=True, slots=True)
class Judgement:
    """What follows from the facts of one batch, at an instant, as known by then."""

    batch: UUID
    at: datetime
    state: str  # moves, observation, suspected, done, closed
    stays: tuple[Stay, ...]
    series: Series | None
    past_series: tuple[Series, ...]
    stage: str
    limit: datetime | None
    earliest_end: datetime | None
    earliest_end_if_kept: datetime | None
    observation: Observation | None
    deviations: tuple[Deviation, ...]
    holds: tuple[Hold, ...]
    alive: int
    relied_on: frozenset[UUID]
    why: str | None = None
    unaccounted: tuple[Unaccounted, ...] = ()
    uncounted: int = 0  # alive by the record, but not seen by whoever counted last

    @property
    def open_stay(self) -> Stay | None:
        return self.stays[-1] if self.stays and self.stays[-1].ended is None else None
