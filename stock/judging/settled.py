"""A follow-up to what was told of a task that was late, once the task is settled."""

from collections.abc import Sequence
from datetime import datetime
from functools import reduce
from operator import or_
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.accounts import stamp
from protocols.clocks import utc_text
from stock.judging.facts import value_of
from stock.models import Fact, Notice, Task
from stock.outbox import Telling, leave

ALARMING = ("escalation", "overdue")


def effect(task: UUID, *stage: str) -> str:
    """The name under which something about a task is told once."""
    return ":".join(("task", str(task), *stage))


def tell_settled(
    site: UUID, tasks: Sequence[Task], facts: Sequence[Fact], *, at: datetime
) -> None:
    """Say that it is resolved to whoever was told that it was late. One query, else none."""
    late = {row.uid: row for row in tasks if _was_due(row, at)}
    if not late:
        return
    told = reduce(or_, (Q(effect__startswith=effect(uid, "")) for uid in late))
    people: dict[UUID, set[str]] = {}
    for body in Notice.objects.filter(told, site=site, kind__in=ALARMING).values_list(
        "body", flat=True
    ):
        people.setdefault(UUID(body["task"]), set()).update(body["to"])
    for uid, to in people.items():
        body = {**about(late[uid]), "to": sorted(to), "explained_by": _why(late[uid], facts)}
        leave(site, Telling(effect(uid, "resolved"), "resolved", body), at)


def about(task: Task) -> dict[str, Any]:
    """What every notice says of its task."""
    return {
        "task": str(task.uid),
        "key": task.key,
        "what": task.what,
        "batch": task.batch and str(task.batch),
        "container": task.container and str(task.container),
        "planned": task.planned and utc_text(task.planned),
        "limit": task.limit and utc_text(task.limit),
    }


def _was_due(task: Task, at: datetime) -> bool:
    times = [one for one in (task.planned, task.limit) if one is not None]
    return bool(times) and min(times) <= at


def _why(task: Task, facts: Sequence[Fact]) -> str | None:
    """How what looked late was done in time: entered then and sent later, or told later."""
    due = task.limit or task.planned
    for fact in facts:
        if due is not None and fact.performed_at <= due < fact.recorded_at:
            return "sync" if stamp(value_of(fact)) <= due else "late_entry"
    return None
