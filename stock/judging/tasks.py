"""Tasks brought in line with judgements, by stable keys; what people took or finished stays.

Tasks are no projection: a rebuild leaves them alone, and the next comparison finds what has
to change in them.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from protocols import reconciling
from protocols.reconciling import DONE_BY_HAND, Changes, TaskState
from protocols.tasks import AtSite, Work
from protocols.work import kept_work
from stock.judging.alarms import tell_alarms
from stock.judging.settled import tell_settled
from stock.judging.task_rows import COLUMNS, as_kept, columns_of, task_row
from stock.judging.task_scope import Scope, scope_of, whole_site
from stock.judging.work_batches import batches_known
from stock.judging.work_equipment import equipment_known, with_late_sightings
from stock.judging.work_places import claims_known, rooms_known
from stock.models import Fact, Log, Site, Task
from stock.names import new_uid
from stock.queries.sites import hours_history, rules_history

OPEN = (TaskState.OPEN.value, TaskState.TAKEN.value)
# These move what is planned without naming anything that is planned.
OF_THE_WHOLE_SITE = frozenset({"hours_set", "rules_set", "site_set"})


@dataclass(frozen=True, slots=True)
class Compared:
    """What has to change in which rows."""

    changes: Changes
    live: Mapping[str, Task]


def reconcile(
    log: Log, facts: Sequence[Fact], batches: Collection[UUID], *, at: datetime
) -> list[dict[str, Any]]:
    """Bring tasks in line after these facts were entered and these batches judged.

    The tasks that changed, by key. Under the lock of the site; a fixed number of queries.
    """
    if any(fact.kind in OF_THE_WHOLE_SITE for fact in facts):
        return reconcile_site(log.uid, at=at)
    scope = scope_of(log.uid, facts, batches)
    return _carry_out(scope, compare(scope, at), at, facts) if scope else []


def reconcile_site(site: UUID, *, at: datetime) -> list[dict[str, Any]]:
    """Bring all tasks of a site in line, under its lock; those that changed."""
    scope = whole_site(site)
    return _carry_out(scope, compare(scope, at), at, ())


def is_in_line(site: UUID, at: datetime) -> bool:
    """Whether every task of a site says what is due. Reads only."""
    return not compare(whole_site(site), at).changes


def compare(scope: Scope, at: datetime) -> Compared:
    """What has to change in the tasks of a scope so that they say what is due at `at`."""
    wanted, ended = _wanted(scope, at)
    by_hand = [work.key for work in wanted if work.what in DONE_BY_HAND]
    finished = Q(site=scope.site, key__in=by_hand, state=TaskState.DONE.value)
    rows = list(Task.objects.filter(scope.rows & Q(state__in=OPEN) | finished))
    changes = reconciling.reconcile([task_row(row) for row in rows], wanted, ended=ended)
    return Compared(changes, {row.key: row for row in rows if row.state in OPEN})


def _wanted(scope: Scope, at: datetime) -> tuple[list[Work], dict[UUID, str]]:
    zone = Site.objects.values_list("zone", flat=True).get(uid=scope.site)
    rules = rules_history(scope.site)
    site = AtSite(hours_history(scope.site), ZoneInfo(zone), rules.at(at), at)
    batches, ended = batches_known(scope.site, scope.batches, rules=site.rules, at=at)
    equipment = equipment_known(scope.site, at, only=scope.equipment)
    if scope.sightings:
        equipment = with_late_sightings(scope.site, equipment, rules=rules, at=at)
    found = kept_work(
        batches,
        equipment,
        site,
        rooms=rooms_known(scope.site, at) if scope.rooms else (),
        claims=claims_known(scope.site, at, only=scope.consignments) if scope.claims else (),
    )
    return [as_kept(work) for work in found if scope.wants(work)], ended


def _carry_out(
    scope: Scope, compared: Compared, at: datetime, facts: Sequence[Fact]
) -> list[dict[str, Any]]:
    changes, live = compared.changes, compared.live
    made = [
        Task(uid=new_uid(at), site_id=scope.site, made_at=at, **columns_of(work))
        for work in changes.create
    ]
    Task.objects.bulk_create(made)
    changed = [_with(live[work.key], columns_of(work)) for work in changes.update]
    if changed:
        Task.objects.bulk_update(changed, COLUMNS)
    closed = [
        _with(live[one.key], {"state": one.state.value, "closed_why": one.why, "closed_at": at})
        for one in changes.close
    ]
    if closed:
        Task.objects.bulk_update(closed, ["state", "closed_why", "closed_at"])
    tell_settled(scope.site, closed, facts, at=at)
    tell_alarms(scope.site, made, at=at)
    return [shown(row) for row in sorted((*made, *changed, *closed), key=lambda row: row.key)]


def _with(row: Task, columns: Mapping[str, Any]) -> Task:
    for name, value in columns.items():
        setattr(row, name, value)
    return row


def shown(row: Task) -> dict[str, Any]:
    """A task in the answer of the door that changed it."""
    return {
        "uid": str(row.uid),
        "key": row.key,
        "what": row.what,
        "batch": row.batch and str(row.batch),
        "state": row.state,
        "closed_why": row.closed_why or None,
    }
