"""When a limit can be kept by the people who are there: earlier, never later."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from protocols.hours import DAY, SECOND, Span, StaffedHours, touching


@dataclass(frozen=True, slots=True)
class Slot:
    """The staffed moment at which something with a limit is planned."""

    at: datetime
    limit: datetime

    @property
    def early(self) -> timedelta:
        """How much of the time up to the limit is given away."""
        return self.limit - self.at


@dataclass(frozen=True, slots=True)
class NoSlot:
    """Nobody is there between two moments; without a call-out the limit passes."""

    since: datetime
    until: datetime

    @property
    def between(self) -> Span:
        return Span(self.since, self.until)


@dataclass(frozen=True, slots=True)
class Ahead:
    """The move that ends this stay, and the one after it."""

    slot: Slot | NoSlot
    moved_at: datetime
    next_limit: datetime
    next_slot: Slot | NoSlot

    @property
    def no_slot_between(self) -> Span | None:
        """Where the stay that the coming move begins cannot be ended by those who are there."""
        return self.next_slot.between if isinstance(self.next_slot, NoSlot) else None


def slot_before(
    limit: datetime, hours: StaffedHours, zone: ZoneInfo, *, not_before: datetime
) -> Slot | NoSlot:
    """The latest staffed moment at or before `limit`, and not before `not_before` (UTC)."""
    found = touching(hours, zone, not_before, limit)
    return Slot(found[-1].end, limit) if found else NoSlot(not_before, limit)


def slot_after(
    since: datetime, hours: StaffedHours, zone: ZoneInfo, *, until: datetime
) -> datetime | None:
    """The first staffed moment from `since` to `until` (UTC, both included)."""
    found = touching(hours, zone, since, until)
    return found[0].start if found else None


def move_slot(
    placed: datetime, limit: datetime, hours: StaffedHours, zone: ZoneInfo
) -> Slot | NoSlot:
    """When to end the stay that began at `placed`: the latest staffed moment of a later shift.

    A second move by the shift that made the last one costs a container and a kit and puts the
    limit off by hours only, so it is never proposed. Where people are there without a break,
    a shift counts as over after 24 h.
    """
    there = [
        span.end for span in touching(hours, zone, placed, placed + DAY) if span.holds(placed)
    ]
    left = min(there[0] if there else placed, limit)
    slot = slot_before(limit, hours, zone, not_before=min(left + SECOND, limit))
    return slot if isinstance(slot, Slot) else NoSlot(left, limit)


def look_ahead(
    placed: datetime,
    limit: datetime,
    hours: StaffedHours,
    zone: ZoneInfo,
    *,
    stay_limit: timedelta,
) -> Ahead:
    """The slot of the coming move, and whether the stay that it begins has one.

    Where the coming move itself has none, it is taken to be made at its limit by a call-out.
    """
    slot = move_slot(placed, limit, hours, zone)
    moved = slot.at if isinstance(slot, Slot) else limit
    next_limit = moved + stay_limit
    return Ahead(slot, moved, next_limit, move_slot(moved, next_limit, hours, zone))
