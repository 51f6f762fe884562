"""Who may take a task, hand it back, and finish it by hand."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from protocols.reconciling import DONE_BY_HAND, OPEN_STATES, TaskState
from protocols.second_person import OWN
from protocols.tasks import What
from protocols.values import Alternative, Reason

# A working day: whoever took something and did nothing has gone home by then.
LEASE = timedelta(hours=8)
# What settles each kind of work that no tick does, by the kind of report.
TOLD_BY: Mapping[What, str] = {
    What.MOVE: "batch_moved",
    What.WATER_TEST: "reading_taken",
    What.READING: "reading_taken",
    What.ROUND: "round_made",
    What.SEARCH: "emptied",
    What.CLOSE_LOOK: "confirmed",
    What.DISINFECT: "disinfected",
    What.SEE_DRY: "seen_dry",
    What.CONFIRM_LATE: "confirmed",
    What.DECIDE: "deviation_decided",
}


@dataclass(frozen=True, slots=True)
class TaskKnown:
    """A task as it stands: whose it is, and who may not do it."""

    what: What
    state: TaskState
    subject: UUID | None = None
    taken_by: UUID | None = None
    not_by: tuple[UUID, ...] = ()


def may_take(person: UUID, task: TaskKnown) -> Iterator[Reason]:
    """Whether somebody may say: I do it. Taking one's own task again renews it."""
    yield from _over(task)
    yield from _of_another(person, task)
    yield from _own(person, task)


def may_hand_back(person: UUID, task: TaskKnown, *, is_manager: bool) -> Iterator[Reason]:
    """Whoever took it hands it back; a manager may do so for somebody who is gone."""
    yield from _over(task)
    if task.state is TaskState.OPEN:
        text = "Nobody has taken this."
        yield Reason("contradicts_record", "task_open", text)
    elif task.state is TaskState.TAKEN and task.taken_by != person and not is_manager:
        text = "Somebody else took this; they or a manager hand it back."
        yield Reason("wrong_role", "task_taken", text, who=("manager",))


def may_complete(person: UUID, task: TaskKnown) -> Iterator[Reason]:
    """Whether a tick finishes it: never where a report has to say what was done."""
    yield from _over(task)
    if task.what not in DONE_BY_HAND:
        yield Reason(
            "refused",
            "told_by_report",
            "Tell what was done; that settles it.",
            instead=(Alternative(TOLD_BY[task.what], task.subject),),
        )
    yield from _of_another(person, task)
    yield from _own(person, task)


def lease_ends(taken_at: datetime) -> datetime:
    """Until when a task stays taken by somebody who does nothing about it."""
    return taken_at + LEASE


def is_untouched(taken_at: datetime | None, at: datetime) -> bool:
    """Whether nobody has a task at `at`: never taken, or taken a lease ago and left alone."""
    return taken_at is None or at >= lease_ends(taken_at)


def _over(task: TaskKnown) -> Iterator[Reason]:
    if task.state not in OPEN_STATES:
        text = "This is over."
        yield Reason("contradicts_record", "task_over", text, numbers={"state": task.state})


def _of_another(person: UUID, task: TaskKnown) -> Iterator[Reason]:
    if task.state is TaskState.TAKEN and task.taken_by != person:
        yield Reason(
            "contradicts_record",
            "task_taken",
            "Somebody else does this.",
            numbers={"taken_by": str(task.taken_by)},
            may_insist=("manager",),
        )


def _own(person: UUID, task: TaskKnown) -> Iterator[Reason]:
    if person in task.not_by:
        yield Reason(OWN, OWN, "Somebody else has to do this.", who=("keeper", "manager"))
