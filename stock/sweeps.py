"""What has to happen although nobody asks: plain functions, one for each thing to look after.

Each looks first, without a lock, whether there is anything to do; then it takes the lock of
the site and looks again. So every one of them may be repeated, and may run twice at once.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from protocols.clocks import elapsed_text
from protocols.reconciling import TaskState
from protocols.reminders import Notice, Stage, notice_of
from protocols.taking import LEASE
from stock import checkpoints, clock, jobs, lock
from stock.by_rule import follow_rules
from stock.calling import hand_out
from stock.erasable import tell_erasable
from stock.judging import reach, tasks
from stock.judging.settled import about, effect
from stock.judging.task_rows import work_of
from stock.models import Notice as NoticeRow
from stock.models import Role, Shift, Task, Webhook, WebhookEvent
from stock.outbox import Telling, leave, leave_event
from stock.probing import tell_probes
from stock.queries.rooms import closed_rooms, containers_of
from stock.queries.sites import rules_history
from stock.visiting import close_over
from stock.webhook_sending import deliver_due
from stock.webhooks import limit_event


def sweep(site: UUID, at: datetime, *, thorough: bool = True) -> dict[str, Any]:
    """Everything that is due at a site at `at`; what changed by it.

    Not `thorough`, tasks are compared only where something was judged: little else in them
    follows from the clock, and that may wait for a minute.
    """
    judged, deviations = judge_due(site, at)
    changed = bring_in_line(site, at) if thorough or judged else []
    return {
        "site": str(site),
        "at": at,
        "judged": [str(uid) for uid in judged],
        "deviations": deviations,
        "tasks_changed": [*changed, *free_untouched(site, at)],
        "notices": tell_times(site, at),
        "probes": tell_probes(site, at) if thorough else [],
        "erasable": tell_erasable(site, at) if thorough else False,
        "visits": close_over(site, at) if thorough else [],
        "limits": tell_limits(site, at),
        "calls": hand_out(site, at),
    }


def sweep_now(site: UUID, at: datetime) -> dict[str, Any]:
    """The same, and under the test clock the site has reached this moment from here on."""
    with transaction.atomic():
        lock.take(site)
        clock.advance(site, at)
    done = sweep(site, at)
    checkpoints.look_after(site, at)
    delivered = 0
    while taken := deliver_due(at, site=site):  # some at a time
        delivered += taken
    return {**done, "webhooks": delivered, **jobs.run_due(site, at)}


def judge_due(site: UUID, at: datetime) -> tuple[list[UUID], list[dict[str, Any]]]:
    """Judge what is stale and what the clock has overtaken, some at a time.

    The batches, and the deviations that changed.
    """
    judged: list[UUID] = []
    changed: list[dict[str, Any]] = []
    while set(reach.due(site, at=at)) - set(judged):
        with transaction.atomic():
            log = lock.take(site)
            batches = reach.due(site, at=at)
            found = reach.judge_and_store(site, batches, at)
            follow_rules(log, found.judgements, at)
            changed += map(reach.shown, found.changed)
        judged += batches
    return judged, changed


def bring_in_line(site: UUID, at: datetime) -> list[dict[str, Any]]:
    """Make the tasks of a site say what is due; those that changed."""
    if tasks.is_in_line(site, at):
        return []
    with transaction.atomic():
        lock.take(site)
        return tasks.reconcile_site(site, at=at)


def free_untouched(site: UUID, at: datetime) -> list[dict[str, Any]]:
    """Give back what somebody took a working day ago and did nothing about."""
    untouched = Task.objects.filter(
        site=site, state=TaskState.TAKEN.value, taken_at__lte=at - LEASE
    )
    if not untouched.exists():
        return []
    with transaction.atomic():
        lock.take(site)
        rows = list(untouched.order_by("key"))
        for row in rows:
            said = {"by": str(row.taken_by_id), "at": at, "why": "lease"}
            row.state, row.taken_by, row.taken_at = TaskState.OPEN.value, None, None
            row.handed_back = [*row.handed_back, said]
            row.save(update_fields=["state", "taken_by", "taken_at", "handed_back"])
    return [tasks.shown(row) for row in rows]


@dataclass(frozen=True, slots=True)
class People:
    """Who is there, who may be called, and who answers for the site."""

    on_shift: frozenset[UUID]
    on_call: frozenset[UUID]
    keepers: frozenset[UUID]
    managers: frozenset[UUID]

    def of(self, notice: Notice, task: Task) -> frozenset[UUID]:
        """Whoever took it or is there hears what is coming; who may be called, what is late."""
        if notice is Notice.REMINDER:
            taker = frozenset((task.taken_by_id,)) if task.taken_by_id else frozenset()
            return taker or self.on_shift or self.keepers | self.managers
        return self.on_call or self.managers


def tell_times(site: UUID, at: datetime) -> list[dict[str, Any]]:
    """Leave reminders, escalations and overdue notices in the outbox, each once."""
    if not list(_untold(site, at)):
        return []
    with transaction.atomic():
        lock.take(site)
        told = [one for one in _untold(site, at) if leave(site, one, at)]
    return [{"kind": one.kind, **one.body} for one in told]


def tell_limits(site: UUID, at: datetime) -> int:
    """Leave for other programs which limits are near or over, each once; how many were new.

    Also of a room that is closed: nobody is sent there by it. One query without webhooks.
    """
    if not Webhook.objects.filter(site=site).exists():
        return 0
    events = [one for row, stage in _due(site, at) if (one := limit_event(row, stage, at))]
    effects = [one.effect for one in events]
    told = WebhookEvent.objects.filter(effect__in=effects).values_list("effect", flat=True)
    known = set(told)
    new = [one for one in events if one.effect not in known]
    if not new:
        return 0
    with transaction.atomic():
        lock.take(site)
        return sum(leave_event(site, one, at) for one in new)


def _due(site: UUID, at: datetime) -> list[tuple[Task, Stage]]:
    """Open work of which something is to be told at `at`, with the stage it has reached."""
    reminders_s = rules_history(site).at(at).reminders_s
    soon = at + timedelta(seconds=max(reminders_s, default=0))
    rows = Task.objects.filter(
        Q(planned__lte=soon) | Q(limit__lte=soon), site=site, state__in=tasks.OPEN
    ).order_by("limit", "key")
    return [
        (row, stage)
        for row in rows
        if (stage := notice_of(work_of(row), reminders_s, at)) is not None
    ]


def _untold(site: UUID, at: datetime) -> Iterator[Telling]:
    due = _where_people_may_go(site, _due(site, at), at)
    if not due:
        return
    people = _people(site, at)
    tellings = [one for row, stage in due for one in _tellings(row, stage, people)]
    effects = [one.effect for one in tellings]
    told = NoticeRow.objects.filter(effect__in=effects).values_list("effect", flat=True)
    known = set(told)
    yield from (one for one in tellings if one.effect not in known)


def _where_people_may_go(
    site: UUID, due: list[tuple[Task, Stage]], at: datetime
) -> list[tuple[Task, Stage]]:
    """Nobody is sent into a room that is closed; what is true then is told once it is open."""
    closed = closed_rooms(site, at) if due else {}
    inside = containers_of(closed)
    return [
        (row, stage)
        for row, stage in due
        if row.room not in closed and str(row.container) not in inside
    ]


def _tellings(task: Task, stage: Stage, people: People) -> Iterator[Telling]:
    """One for each person; that something is overdue is said once, to all together."""
    body = {**about(task), "stage": stage.name, **_left(stage)}
    to = sorted(str(one) for one in people.of(stage.notice, task))
    if stage.notice is Notice.OVERDUE:
        yield Telling(effect(task.uid, stage.name), stage.notice.value, {**body, "to": to})
        return
    for person in to:
        name = effect(task.uid, stage.name, person)
        yield Telling(name, stage.notice.value, {**body, "to": [person]})


def _left(stage: Stage) -> dict[str, Any]:
    if stage.left is None:
        return {"left_s": None, "left_text": None}
    return {"left_s": int(stage.left.total_seconds()), "left_text": elapsed_text(stage.left)}


def _people(site: UUID, at: datetime) -> People:
    shifts = Shift.objects.filter(site=site, begins__lte=at, ends__gte=at)
    found: dict[bool, set[UUID]] = {False: set(), True: set()}
    for person, on_call in shifts.values_list("person", "on_call"):
        found[on_call].add(person)
    roles: dict[str, set[UUID]] = {}
    for person, role in Role.objects.filter(site=site).values_list("person", "role"):
        roles.setdefault(role, set()).add(person)
    return People(
        on_shift=frozenset(found[False]),
        on_call=frozenset(found[True]),
        keepers=frozenset(roles.get("keeper", ())),
        managers=frozenset(roles.get("manager", ())),
    )
