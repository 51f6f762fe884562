"""The frozen values that rules speak in. No clock, no storage: whoever asks hands everything in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any
from uuid import UUID


class Standing(StrEnum):
    """How a report stands: a question, something done, or something that had to be done."""

    ASKED = "asked"
    HAPPENED = "happened"
    EMERGENCY = "emergency"


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
class When:
    """A moment known to lie between two instants, both included; UTC, whole seconds."""

    earliest: datetime
    latest: datetime

    def __post_init__(self) -> None:
        if self.earliest.utcoffset() != timedelta(0) or self.latest.utcoffset() != timedelta(0):
            raise ValueError("both ends of a When must be UTC")
        if self.earliest > self.latest:
            raise ValueError("a When must not end before it begins")

    @classmethod
    def exactly(cls, moment: datetime) -> "When":
        return cls(moment, moment)

    @property
    def is_exact(self) -> bool:
        return self.earliest == self.latest

    def hull(self, other: "When") -> "When":
        """The shortest span that holds both: how a second account widens a time."""
        return When(min(self.earliest, other.earliest), max(self.latest, other.latest))


@dataclass(frozen=True, slots=True)
class Insist:
    """A rule that somebody with the right to do so set aside beforehand, and why."""

    rule: str
    reason: str


@dataclass(frozen=True, slots=True)
class Fact:
    """What somebody (or a probe) says happened, as it stands in the ledger."""

    uid: UUID
    seq: int
    kind: str
    performed_at: datetime
    recorded_at: datetime
    doer: UUID
    messenger: UUID
    body: Mapping[str, Any]
    standing: Standing = Standing.HAPPENED
    insist: tuple[Insist, ...] = ()
    reason: str | None = None
    about: UUID | None = None
    group: UUID | None = None
    device: UUID | None = None
    entry_no: int | None = None
    raw_at: datetime | None = None
    clock_offset_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Happening:
    """Facts that tell of one thing, folded: the accounts kept, one time, one body."""

    uid: UUID
    kind: str
    when: When
    body: Mapping[str, Any]
    accounts: tuple[Fact, ...]
    confirmed_by: tuple[UUID, ...] = ()
    late_unconfirmed: bool = False
    differs: bool = False

    @property
    def first(self) -> Fact:
        return self.accounts[0]


@dataclass(frozen=True, slots=True)
class Alternative:
    """What would be possible instead: a kind of thing, which, and from when to when."""

    kind: str
    uid: UUID | None = None
    label: str | None = None
    begins: datetime | None = None
    ends: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that stands against what is asked, with its numbers."""

    code: str
    rule: str
    text: str = ""
    blocks: bool = True
    numbers: Mapping[str, Any] = field(default_factory=dict)
    instead: tuple[Alternative, ...] = ()
    may_insist: tuple[str, ...] = ()
    pointer: str | None = None
    cleared_by: str | None = None
    who: tuple[str, ...] = ()
    task: str | None = None


@dataclass(frozen=True, slots=True)
class Range:
    """Both ends allowed."""

    least: Decimal
    most: Decimal

    def holds(self, value: Decimal) -> bool:
        return self.least <= value <= self.most


@dataclass(frozen=True, slots=True)
class DryingRule:
    """What makes a piece or a container ready."""

    drying: timedelta
    chlorine_mg_l_least: Decimal
    contact_least: timedelta


@dataclass(frozen=True, slots=True)
class Protocol:
    """One frozen version of what is to be done. Read from `protocols/definitions/`."""

    name: str
    version: int
    sha256: str
    stay_limit: timedelta
    moves_least: int
    span_least: timedelta
    warm_c: Decimal
    warm_after: timedelta
    warm_limit: timedelta
    cold_c: Decimal
    drying: DryingRule
    observation: timedelta
    salinity: Range
    temperature_c: Range
    addresses: tuple[str, ...]
    does_not_cover: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def key(self) -> str:
        return f"{self.name}@{self.version}"


@dataclass(frozen=True, slots=True)
class Rules:
    """What a site decides for itself; the defaults are the careful ones."""

    tolerance_s: int = 0
    late_reason_after_s: int = 3600
    late_confirm_after_s: int = 43200
    reading_age_max_s: int = 7200
    match_salinity: Decimal = Decimal("1.4")
    match_temperature_c: Decimal = Decimal("1.0")
    instrument_check_every_s: int = 604800
    neighbour_m: Decimal = Decimal("3.0")
    near_limit_s: int = 3600
    missing_close_after_s: int = 172800
    loss_watch_count: int = 2
    loss_watch_fraction: Decimal = Decimal("0.10")
    loss_watch_window_s: int = 86400
    review_within_s: int = 43200
    reminders_s: tuple[int, ...] = (43200, 14400, 3600)
    clock_ahead_max_s: int = 120
    nh3_n_alarm_mg_l: Decimal = Decimal("0.05")
    public_hides: tuple[str, ...] = ()
    outside_second: bool = False


@dataclass(frozen=True, slots=True)
class RulesHistory:
    """The rules of a site by the moment from which they are in force; rules change only forward."""

    versions: tuple[tuple[datetime, Rules], ...] = ()

    def at(self, moment: datetime) -> Rules:
        """The rules in force at `moment`; the defaults before the first version."""
        known = [rules for begins, rules in self.versions if begins <= moment]
        return known[-1] if known else Rules()


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
    """What is known of the place, the kit and the water at one placement."""

    container: Readiness
    kit: Readiness | None = None
    water: tuple[Reason, ...] = ()


Places = Mapping[UUID, Placing]  # by stay
Temperatures = Mapping[UUID, tuple[Reading, ...]]  # by container, temperature only, sorted by time


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
    decided: Decision | None = None
    decided_by: UUID | None = None  # the deciding fact
    closed: bool = False

    @property
    def is_open(self) -> bool:
        return not self.closed and self.decided is None


@dataclass(frozen=True, slots=True)
class Hold:
    uid: UUID
    at: datetime
    why: str
    by: UUID


@dataclass(frozen=True, slots=True)
class Judgement:
    """What follows from the facts of one batch, at an instant and as known by a ledger position."""

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

    @property
    def open_stay(self) -> Stay | None:
        return self.stays[-1] if self.stays and self.stays[-1].ended is None else None
