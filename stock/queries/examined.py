"""A batch looked at for a certificate: judged afresh, and all that stands against one."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols.certifying import Certifiable, OpenQuestions, SilentDevice, certifiable
from protocols.rounds import unwatched
from protocols.values import Judgement, Reason, RulesHistory
from stock.judging.load import judge_world, load
from stock.models import Task
from stock.queries.devices import silent_devices
from stock.queries.seen_alive import days_unwatched
from stock.queries.shared_tanks import against_certifying


@dataclass(frozen=True, slots=True)
class Examined:
    """A batch judged for a certificate: with its family, the site's rules, and the answer."""

    judgement: Judgement
    family: frozenset[UUID]
    rules: RulesHistory
    found: Certifiable


def examine(batch: UUID, at: datetime, *, known_by: int | None = None) -> Examined:
    """The batch judged afresh, and everything that stands against a certificate for it."""
    world = load([batch], at, known_by=known_by)[batch]
    judgement = judge_world(world, at)
    silent = silent_devices(batch, world.rules.at(at), at) if known_by is None else ()
    found = weigh(judgement, at, silent)
    seen = tuple(unwatched(days_unwatched(judgement, known_by=known_by)))
    family = world.history.family
    shared = against_certifying({batch, *family}, at, known_by=known_by)
    found = replace(found, reasons=(*shared, *found.reasons, *seen))
    return Examined(judgement, family, world.rules, found)


def weigh(
    judgement: Judgement, at: datetime, silent: Sequence[SilentDevice] = ()
) -> Certifiable:
    """Everything that stands against a certificate for a batch judged like this."""
    return certifiable(judgement, 0, OpenQuestions(), (), silent, at=at)


def with_tasks(batch: UUID, reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """Each reason with the uid of the open task that clears it, if there is one. One query."""
    tasks = list(Task.objects.filter(batch=batch, state__in=("open", "taken")).order_by("key"))
    return tuple(_with_task(one, tasks) for one in reasons)


def _with_task(reason: Reason, tasks: Sequence[Task]) -> Reason:
    """The task about the very cause, else the only sort of task that clears such a thing."""
    able = [task for task in tasks if task.what == reason.task]
    cause = str(reason.numbers.get("cause", ""))
    named = [task for task in able if task.key.endswith(cause)] if cause else able
    if not named:
        return reason
    return replace(reason, numbers={**reason.numbers, "task_uid": str(named[0].uid)})
