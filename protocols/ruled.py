"""What rules are made of, and how a rule answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.quiet import RoleCalls
from protocols.stocking_values import Own


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


def not_ready(rule: str, text: str, **numbers: Any) -> Reason:
    """One thing that a piece, kit or container lacks before it may be used."""
    return Reason(code="not_ready", rule=rule, text=text, numbers=numbers)


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
    title: str = ""
    slack_said: timedelta | None = None

    @property
    def stage(self) -> str:
        """The word of the stage that this is about; the others are in `protocols/library/`."""
        return "moves"

    @property
    def slack(self) -> timedelta:
        """How much later than the least span the fewest moves may end, each at its limit."""
        return self.moves_least * self.stay_limit - self.span_least

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
    # Entries of a tablet that wait for their doer: from when another may bring them.
    deliver_after_s: int = 43200
    # A tablet not heard of for so long may hold entries that nobody has.
    device_silent_s: int = 86400
    mixed_least_s: int = 43200
    nh3_n_alarm_mg_l: Decimal = Decimal("0.05")
    # For planning: the height over the sea, the pH of water that nobody measured, and what the
    # site knows better than the planning values do.
    altitude_m: Decimal = Decimal(0)
    planning_ph: Decimal = Decimal("8.2")
    planning: tuple[Own, ...] = ()
    public_hides: tuple[str, ...] = ()
    outside_second: bool = False
    # After how long without a value, or with the same one, a probe is looked at.
    probe_silent_after_s: int = 3600
    probe_stuck_after_s: int = 43200
    # Who is called for what, and when they are left alone.
    calls: tuple[RoleCalls, ...] = ()
    # Whether deciding, issuing, setting up and exporting ask for a second factor, and after how
    # long without a touch a shared tablet asks again who is there.
    second_factor_needed: bool = False
    # For so many years after a batch is closed what is told of it is kept; medicines apart.
    keep_years: int = 10
    keep_medicine_years: int = 10
    idle_lock_s: int = 900


@dataclass(frozen=True, slots=True)
class RulesHistory:
    """The rules of a site, by the moment from which they are in force; never backwards."""

    versions: tuple[tuple[datetime, Rules], ...] = ()

    def at(self, moment: datetime) -> Rules:
        """The rules in force at `moment`; the defaults before the first version."""
        known = [rules for begins, rules in self.versions if begins <= moment]
        return known[-1] if known else Rules()
