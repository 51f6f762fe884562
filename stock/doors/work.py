"""Taking a task, handing it back, finishing it by hand.

No facts about animals: who does what is said by the task alone. What was done is told by the
reports that settle tasks by themselves.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import taking
from protocols.reconciling import TaskState
from protocols.taking import TaskKnown
from protocols.tasks import What
from protocols.values import Reason, Standing
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.models import Task
from stock.queries.work import task_shown
from stock.refusals import NotFound, refuse

Rule = Callable[[TaskKnown], Iterator[Reason]]


def take_task(asking: Asking, *, task: UUID) -> Answered:
    """I do it. Taking one's own task again renews it."""

    def act(row: Task) -> None:
        row.state, row.taken_by = TaskState.TAKEN, asking.person
        row.taken_at = asking.now
        row.save(update_fields=["state", "taken_by", "taken_at"])

    return _change(asking, task, lambda known: taking.may_take(asking.person.uid, known), act)


def hand_back_task(asking: Asking, *, task: UUID) -> Answered:
    """I do not do it, and why."""
    is_manager = "manager" in access.roles_at(asking.person, _site_of(task))

    def ask(known: TaskKnown) -> Iterator[Reason]:
        if not asking.reason:
            yield refuse("reason_missing", "Say why.", pointer="/reason")
        yield from taking.may_hand_back(asking.person.uid, known, is_manager=is_manager)

    return _change(asking, task, ask, lambda row: _hand_back(asking, row))


def complete_task(asking: Asking, *, task: UUID) -> Answered:
    """It is done, where no report says so."""

    def act(row: Task) -> None:
        row.state, row.closed_why = TaskState.DONE, asking.reason or "by_hand"
        row.closed_at, row.closed_by = asking.now, asking.person.uid
        row.save(update_fields=["state", "closed_why", "closed_at", "closed_by"])

    return _change(
        asking, task, lambda known: taking.may_complete(asking.person.uid, known), act
    )


def _hand_back(asking: Asking, row: Task) -> None:
    said = {"by": str(asking.person.uid), "at": asking.now, "why": asking.reason}
    row.state, row.taken_by, row.taken_at = TaskState.OPEN, None, None
    row.handed_back = [*row.handed_back, said]
    row.save(update_fields=["state", "taken_by", "taken_at", "handed_back"])


def _change(asking: Asking, task: UUID, ask: Rule, act: Callable[[Task], None]) -> Answered:
    site = _site_of(task)
    access.site_for(asking.person, site, access.HANDS)

    def show(row: Task) -> dict[str, Any]:
        return {"task": task_shown(row, asking.now)}

    return enter(
        # A task is asked for also where a report of what happened would be taken as it is.
        replace(asking, standing=Standing.ASKED),
        site,
        Door(
            load=lambda log: Task.objects.select_related("site", "taken_by").get(uid=task),
            ask=lambda row: ask(_known(row, asking.now)),
            tell=lambda row: (),
            show=show,
            act=act,
        ),
    )


def _site_of(task: UUID) -> UUID:
    site = Task.objects.filter(uid=task).values_list("site", flat=True).first()
    if site is None:
        raise NotFound
    return site


def _known(row: Task, at: datetime) -> TaskKnown:
    """As it stands at a moment: whether the sweep came by or not, a lease has its end."""
    state = TaskState(row.state)
    free = state is TaskState.TAKEN and taking.is_untouched(row.taken_at, at)
    return TaskKnown(
        what=What(row.what),
        state=TaskState.OPEN if free else state,
        subject=row.batch or row.container or row.kit or row.room,
        taken_by=None if free else row.taken_by_id,
        not_by=tuple(UUID(one) for one in row.not_by),
    )
