"""What is told of a task before it is late, worked out from its times whenever it is read."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from protocols.hours import SECOND
from protocols.tasks import What, Work

# These are announced ahead and escalate: a stay is at stake.
ANNOUNCED = frozenset({What.MOVE, What.CALL_OUT})
# The move that it is for is announced.
QUIET = frozenset({What.PREPARE})


class Notice(StrEnum):
    REMINDER = "reminder"
    ESCALATION = "escalation"
    OVERDUE = "overdue"


@dataclass(frozen=True, slots=True)
class Stage:
    """One notice of a task. `name` names it for good: told once for each task and person."""

    notice: Notice
    name: str
    due: datetime
    limit: datetime | None

    @property
    def left(self) -> timedelta | None:
        """Time left to the limit when the notice is due; not negative."""
        return None if self.limit is None else max(self.limit - self.due, timedelta(0))


def stages(
    planned: datetime | None,
    limit: datetime | None,
    reminders_s: Iterable[int],
    at: datetime,
) -> tuple[Stage, ...]:
    """The notices of an open task that are due at `at`, in order; only the last is to be told.

    Reminders come so many seconds before the planned time, or before the limit where nobody is
    planned; at the planned time it escalates to who is on call; past the limit there is one
    notice that it is overdue. Exactly at the limit is on time.
    """
    return tuple(stage for stage in _ladder(planned, limit, reminders_s) if stage.due <= at)


def stage_in_force(
    planned: datetime | None,
    limit: datetime | None,
    reminders_s: Iterable[int],
    at: datetime,
) -> Stage | None:
    """The one notice to tell at `at`, if any: an older one would say less than is known."""
    due = stages(planned, limit, reminders_s, at)
    return due[-1] if due else None


def notice_of(work: Work, reminders_s: Iterable[int], at: datetime) -> Stage | None:
    """What is to be told of a piece of open work at `at`, if anything.

    Only moves and call-outs are announced ahead and escalate; at the planned time of anything
    else there is a reminder. Preparations are announced with their moves.
    """
    if work.what in QUIET:
        return None
    ahead = reminders_s if work.what in ANNOUNCED else ()
    stage = stage_in_force(work.planned, work.limit, ahead, at)
    if stage is None or stage.notice is not Notice.ESCALATION or work.what in ANNOUNCED:
        return stage
    return replace(stage, notice=Notice.REMINDER)


def _ladder(
    planned: datetime | None, limit: datetime | None, reminders_s: Iterable[int]
) -> list[Stage]:
    meant = limit if planned is None else planned
    if meant is None:
        return []
    ladder = [
        Stage(Notice.REMINDER, f"before_{s}", meant - timedelta(seconds=s), limit)
        for s in sorted(set(reminders_s), reverse=True)
    ]
    if planned is not None:
        ladder.append(Stage(Notice.ESCALATION, "planned_passed", planned, limit))
    if limit is not None:
        ladder.append(Stage(Notice.OVERDUE, "overdue", limit + SECOND, limit))
    return ladder
