"""A piece of work, and what has to be known of batches, kits, rooms and claims to find it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.ammonia import Ammonia
from protocols.hours import Span, StaffedHours
from protocols.values import Deviation, Judgement, Protocol, Rules, SeriesState, State


class What(StrEnum):
    """Kinds of work."""

    MOVE = "move"
    PREPARE = "prepare"
    WATER_TEST = "water_test"
    READING = "reading"
    ROUND = "round"
    SEARCH = "search"
    CLOSE_LOOK = "close_look"
    FIX_LID = "fix_lid"
    DISINFECT = "disinfect"
    SEE_DRY = "see_dry"
    CONFIRM_LATE = "confirm_late"
    DECIDE = "decide"
    REVIEW_MATCH = "review_match"
    PREPARE_CLAIM = "prepare_claim"
    CALL_OUT = "call_out"
    REVIEW_STOCKING = "review_stocking"


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work that is due or will be.

    `key` names it for good: kind, subject, cause, never a time. `first`: animals are in danger,
    so it stands above everything else. `planned` is when staff mean to do it, `limit` the
    moment after which it is overdue. `no_slot_between`: nobody is there then, and it ends
    with a limit. `why` is a code, `numbers` go with it (durations in whole seconds).
    `waits_for` are keys of work to be done before; `not_by` are people who may not do it.
    """

    key: str
    what: What
    why: str
    first: bool = False
    batch: UUID | None = None
    container: UUID | None = None
    kit: UUID | None = None
    room: UUID | None = None
    planned: datetime | None = None
    limit: datetime | None = None
    no_slot_between: Span | None = None
    numbers: Mapping[str, Any] = field(default_factory=dict)
    waits_for: tuple[str, ...] = ()
    not_by: tuple[UUID, ...] = ()


def work_key(what: What, subject: UUID, *cause: UUID | str) -> str:
    """The name of a piece of work, the same however often and in whatever order it is found."""
    return ":".join((what.value, str(subject), *map(str, cause)))


def left(work: Work, at: datetime) -> timedelta | None:
    """Time left to the limit at `at`, negative past it; None where nothing limits the work."""
    return None if work.limit is None else work.limit - at


def is_overdue(work: Work, at: datetime) -> bool:
    """Whether the limit has passed at `at`. Exactly at the limit is on time."""
    return work.limit is not None and at > work.limit


@dataclass(frozen=True, slots=True)
class Missing:
    """Animals of a batch not found: `container` is where they were last known to be."""

    uid: UUID
    container: UUID
    count: int
    at: datetime
    searched: bool = False


@dataclass(frozen=True, slots=True)
class SignSeen:
    """A sign that only one person has looked at so far."""

    uid: UUID
    by: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class Lost:
    """Animals of a batch lost at a moment (found dead, culled sick, escaped)."""

    uid: UUID
    count: int
    at: datetime


@dataclass(frozen=True, slots=True)
class LidOff:
    """An incident that left a container without a sound lid; `light_off` is its room's."""

    incident: UUID
    container: UUID
    at: datetime
    light_off: time | None = None


@dataclass(frozen=True, slots=True)
class LookAgain:
    """An animal that jumped and lives is to be looked at once more, for the `number`th time."""

    incident: UUID
    number: int
    due: datetime


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A value to be read (again) in a container because of `cause`."""

    cause: UUID
    container: UUID
    quantity: str
    due: datetime


@dataclass(frozen=True, slots=True)
class BatchWork:
    """What has to be known of a batch to find its work.

    `stay_before` is the stay that the open one followed. `limit` and `earliest_end` are those
    of the judgement (the cautious ends); `earliest_end` is None while nothing counts.
    `tested_at` is when the water of the container was last tested for what kills (ammonia,
    nitrite, oxygen), `measured_at` when both its salinity and its temperature were known last;
    `ammonia` are the alarms of its series.
    """

    batch: UUID
    state: str  # moves, observation, suspected, done, closed
    alive: int
    container: UUID | None
    kit: UUID | None
    stay: UUID | None
    stay_before: UUID | None
    placed: datetime | None
    limit: datetime | None
    earliest_end: datetime | None
    series: SeriesState | None
    moves: int
    stay_limit: timedelta
    moves_least: int
    deviations: tuple[Deviation, ...] = ()
    missing: tuple[Missing, ...] = ()
    signs: tuple[SignSeen, ...] = ()
    losses: tuple[Lost, ...] = ()
    tested_at: datetime | None = None
    measured_at: datetime | None = None
    follow_ups: tuple[FollowUp, ...] = ()
    lids: tuple[LidOff, ...] = ()
    looks: tuple[LookAgain, ...] = ()
    ammonia: Ammonia | None = None


def batch_work(judgement: Judgement, protocol: Protocol) -> BatchWork:
    """What a judgement says of a batch's work. What it cannot say is left empty."""
    stay, series = judgement.open_stay, judgement.series
    return BatchWork(
        batch=judgement.batch,
        state=judgement.state,
        alive=judgement.alive,
        container=stay.container if stay else None,
        kit=stay.kit if stay else None,
        stay=stay.uid if stay else None,
        stay_before=judgement.stays[-2].uid if len(judgement.stays) > 1 else None,
        placed=stay.began.earliest if stay else None,
        limit=judgement.limit,
        earliest_end=judgement.earliest_end,
        series=series.state if series else None,
        moves=series.moves if series else 0,
        stay_limit=protocol.stay_limit,
        moves_least=protocol.moves_least,
        deviations=judgement.deviations,
    )


@dataclass(frozen=True, slots=True)
class Unconfirmed:
    """Something told late of a piece of equipment, to be confirmed by another person."""

    fact: UUID
    by: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class Equipment:
    """A kit or a container in service, as it is at the moment of asking.

    `cause` is the fact that led to its state; `stands_in` is the container in which a kit
    stands or last stood.
    """

    uid: UUID
    kind: str  # kit, container
    label: str
    state: State
    cause: UUID
    ready_at: datetime | None = None
    stands_in: UUID | None = None
    unconfirmed: tuple[Unconfirmed, ...] = ()


@dataclass(frozen=True, slots=True)
class RoomWork:
    """A room in which animals are: its last round, or who came first where there was none.

    `looked_at` is the time of that round or of that placement, `cause` its fact.
    """

    room: UUID
    cause: UUID
    looked_at: datetime


@dataclass(frozen=True, slots=True)
class ClaimWork:
    """A delivery with animals dead or short on arrival and no claim sent yet."""

    consignment: UUID
    delivered_at: datetime
    deadline: datetime
    remind_at: datetime
    dead: int
    short: int


@dataclass(frozen=True, slots=True)
class AtSite:
    """Whose people, hours and rules: what every rule about work is asked with."""

    hours: StaffedHours
    zone: ZoneInfo
    rules: Rules
    at: datetime
