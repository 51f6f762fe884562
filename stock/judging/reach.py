"""Which batches a new fact reaches, and what follows for them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.values import Judgement
from stock.apply import subjects
from stock.judging.lines import came_out_of
from stock.judging.load import judge_world, load
from stock.judging.neighbours import near_whom
from stock.judging.store import store
from stock.judging.tasks import reconcile, reconcile_site
from stock.judging.upkeep import answered, follow_upkeep, refresh_everything
from stock.models import (
    Batch,
    DeviationRow,
    Fact,
    Log,
    Reliance,
    StayRow,
    writing_projections,
)
from stock.queries.sites import rules_history

# A fact that reaches more batches than this leaves the rest stale, for the sweep.
AT_ONCE = 50
# What these tell of a place or a kit changes nothing about the time before.
ONLY_FORWARD = frozenset(
    {
        "batch_placed",
        "batch_moved",
        "batch_split",
        "batches_joined",
        "disinfected",
        "seen_dry",
        "emptied",
        "reading_taken",
        "filled",
        "water_changed",
        "topped_up",
        "fed",
        "dose_given",
        "round_made",
        "piece_fitted",
    }
)
ABOUT_A_CONTAINER = frozenset(
    {"reading_taken", "readings_taken", "filled", "water_changed", "topped_up"}
)
# What says neither where animals are nor where containers stand.
SAYS_NOT_WHERE = frozenset(
    {
        "counted",
        "disinfected",
        "seen_dry",
        "found_wet",
        "emptied",
        "piece_fitted",
        "piece_defective",
        "instrument_checked",
        "reading_taken",
        "readings_taken",
        "filled",
        "water_changed",
        "topped_up",
        "fed",
        "dose_given",
        "room_closed",
        "shift_handed_over",
        "handover_read",
        "visit_opened",
        "visit_closed",
        "legal_hold_placed",
        "legal_hold_lifted",
        "texts_erased",
        "room_opened",
        "round_made",
        "water_made",
        "make_checked",
        "salt_lot_set",
        "bleach_set",
        "salt_received",
        "salt_counted",
        "contact_seen",
        "incident_recorded",
        "deviation_decided",
    }
)

_later: ContextVar[bool] = ContextVar("later", default=False)


@contextmanager
def judging_later() -> Iterator[None]:
    """For a great many changes in one transaction: inside, batches are only marked.

    Every rule still asks fresh judgements; caches, equipment and tasks wait for whoever
    opened the block, who must call `bring_up_to_date` at its end.
    """
    token = _later.set(True)
    try:
        yield
    finally:
        _later.reset(token)


@dataclass(frozen=True, slots=True)
class Consequences:
    """What a door's answer says of deviations and tasks that changed, and who was judged."""

    deviations: list[dict[str, Any]] = field(default_factory=list)
    tasks_changed: list[dict[str, Any]] = field(default_factory=list)
    judgements: Mapping[UUID, Judgement] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Judged:
    """Batches judged afresh, and the rows of their deviations that changed by that."""

    judgements: dict[UUID, Judgement] = field(default_factory=dict)
    changed: list[DeviationRow] = field(default_factory=list)


def follow(log: Log, facts: Sequence[Fact], *, at: datetime) -> Consequences:
    """Mark every batch these facts reach, with one UPDATE, and judge the first of them.

    Then equipment and tasks are brought in line with that.
    """
    if not log.is_of_site:
        mark_who_relied(facts)
        return Consequences()
    mark(facts)
    if _later.get():
        return Consequences()
    batches = due(log.uid, at=at)
    judged = judge_and_store(log.uid, batches, at)
    follow_upkeep(facts, at=at)
    return Consequences(
        deviations=[shown(row) for row in judged.changed],
        tasks_changed=reconcile(log, facts, batches, at=at),
        judgements=judged.judgements,
    )


def mark(facts: Sequence[Fact]) -> None:
    """Every batch that these facts speak of, or that relied on what they speak of, is stale.

    One UPDATE. What says nothing of the time before it reaches only who was still there; a
    word about an earlier report reaches whom that reached.
    """
    spoken = {fact.uid: subjects_that_matter(fact) for fact in facts}
    meant = {uid for fact in answered(facts) for uid in subjects_that_matter(fact)}
    every = meant.union(*spoken.values())
    reached = Q(subject__in=meant)
    for fact in facts:
        whose = Q(subject__in=spoken[fact.uid])
        if fact.kind in ONLY_FORWARD:
            whose &= Q(until=None) | Q(until__gte=fact.performed_at)
        reached |= whose
    every |= _near(facts, every) | came_out_of(facts) | _in_systems(facts)
    relying = Reliance.objects.filter(reached).values("batch")
    with writing_projections():
        Batch.objects.filter(Q(uid__in=every) | Q(uid__in=relying)).update(stale=True)


def mark_who_relied(facts: Sequence[Fact]) -> None:
    """What an organisation says, e.g. of a species, is news to whoever was judged by it."""
    spoken = {uid for fact in facts for uid in subjects_that_matter(fact)}
    relying = Reliance.objects.filter(subject__in=spoken).values("batch")
    with writing_projections():
        Batch.objects.filter(uid__in=relying).update(stale=True)


def _near(facts: Sequence[Fact], subjects: set[UUID]) -> set[UUID]:
    """Whoever stood near animals with a sign relies on where those were, which nobody names."""
    if all(fact.kind in SAYS_NOT_WHERE for fact in facts):
        return set()
    return near_whom(facts, subjects, rules_history(facts[0].log_id))


def _in_systems(facts: Sequence[Fact]) -> set[UUID]:
    """Whoever shares the water of a system whose status is told."""
    told = [fact.body["system"] for fact in facts if fact.kind == "system_set"]
    if not told:
        return set()
    there = StayRow.objects.filter(container__system__in=told, ended_latest=None)
    return set(there.values_list("batch", flat=True))


def subjects_that_matter(fact: Fact) -> list[UUID]:
    """What a fact is news about: a reading is about its water, not about its instrument, and
    a fill about the container, not about the make it came from."""
    if fact.kind in ABOUT_A_CONTAINER:
        return [UUID(fact.body["container"])]
    return subjects(fact)


def due(site: UUID, *, at: datetime, most: int = AT_ONCE) -> list[UUID]:
    """Batches of a site that are to be judged: stale, or overtaken by the clock."""
    rows = Batch.objects.filter(Q(stale=True) | Q(fresh_until__lte=at), site=site)
    return list(rows.order_by("uid").values_list("uid", flat=True)[:most])


def judge_and_store(site: UUID, batches: Iterable[UUID], at: datetime) -> Judged:
    """Judge these batches as at `at` and keep what follows."""
    judged = Judged()
    for batch, world in load(batches, at).items():
        judgement = judge_world(world, at)
        placed = judgement.stays[0].began.earliest if judgement.stays else at
        tolerance = timedelta(seconds=world.rules.at(placed).tolerance_s)
        judged.judgements[batch] = judgement
        judged.changed.extend(
            store(
                site,
                judgement,
                tolerance=tolerance,
                looked_at=world.looked_at,
                coming=world.coming,
                longest=world.protocol.stay_limit,
            )
        )
    return judged


def bring_up_to_date(at: datetime) -> None:
    """Judge, keep and plan everything after a block of `judging_later`."""
    judge_everything(at)
    for site in Batch.objects.order_by().values_list("site", flat=True).distinct():
        reconcile_site(site, at=at)


def judge_everything(at: datetime) -> None:
    """Judge every batch anew, e.g. after projections were made again."""
    sites = Batch.objects.order_by().values_list("site", flat=True).distinct()
    for site in list(sites):
        batches = Batch.objects.filter(site=site).order_by("uid")
        uids = list(batches.values_list("uid", flat=True))
        for start in range(0, len(uids), AT_ONCE):
            judge_and_store(site, uids[start : start + AT_ONCE], at)
    refresh_everything(at)


def shown(row: DeviationRow) -> dict[str, Any]:
    return {
        "uid": str(row.uid),
        "batch": str(row.batch_id),
        "rule": row.rule,
        "cause": str(row.cause),
        "effect": row.effect,
        "numbers": row.numbers,
        "open": row.open,
        "decided": row.decided,
    }
