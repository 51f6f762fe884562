"""From rows and facts to what the judge asks for, in a fixed number of queries."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols.accounts import NOTES
from protocols.judgement import judge
from protocols.lineage import history, lineage
from protocols.order import happenings, in_order
from protocols.values import (
    Fact,
    Happening,
    History,
    Judgement,
    Places,
    Protocol,
    RulesHistory,
    Temperatures,
)
from stock.judging.gather import Gathered, gather
from stock.judging.places import placings
from stock.judging.water import temperatures
from stock.models import Batch
from stock.queries.protocols import version_at, versions_at
from stock.queries.sites import rules_of_sites


@dataclass(frozen=True, slots=True)
class World:
    """Everything a judgement of one batch follows from, but the moment."""

    history: History
    protocol: Protocol
    rules: RulesHistory
    places: Places
    cover: Temperatures
    looked_at: Mapping[UUID, datetime | None]
    # The first moment after the one it was loaded for at which something told already happens.
    coming: datetime | None = None


def judged(batch: UUID, at: datetime, *, known_by: int | None = None) -> Judgement:
    """The batch judged afresh, as at a moment and as known by a ledger position."""
    return judged_many([batch], at, known_by=known_by)[batch]


def judged_many(
    batches: Iterable[UUID], at: datetime, *, known_by: int | None = None
) -> dict[UUID, Judgement]:
    """Each batch judged afresh. A fixed number of queries."""
    worlds = load(batches, at, known_by=known_by)
    return {batch: judge_world(world, at) for batch, world in worlds.items()}


def judge_world(world: World, at: datetime) -> Judgement:
    return judge(
        world.history,
        protocol=world.protocol,
        rules=world.rules,
        places=world.places,
        cover=world.cover,
        at=at,
    )


def load(
    batches: Iterable[UUID], at: datetime, *, known_by: int | None = None
) -> dict[UUID, World]:
    """The worlds of these batches, site by site."""
    rows = Batch.objects.filter(uid__in=list(batches)).values_list("uid", "site", "protocol")
    by_site: dict[UUID, dict[UUID, str]] = {}
    for uid, site, key in rows:
        by_site.setdefault(site, {})[uid] = key
    rules = rules_of_sites(by_site, known_by=known_by)
    worlds: dict[UUID, World] = {}
    for site, keys in by_site.items():
        gathered = gather(site, keys, rules=rules[site], at=at, known_by=known_by)
        versions = versions_at(site, keys.values())
        for uid, key in keys.items():
            worlds[uid] = _world(uid, gathered, versions.of(key), at)
    return worlds


def judged_assuming(
    batch: UUID, at: datetime, answers: Callable[[Judgement], Iterable[Fact]]
) -> tuple[Judgement, list[Judgement]]:
    """The batch judged afresh, and once more for each answer to that, as if it had been told.

    As many queries as for one judgement, and nothing is kept.
    """
    row = Batch.objects.get(uid=batch)
    rules = rules_of_sites([row.site_id])[row.site_id]
    gathered = gather(row.site_id, [batch], rules=rules, at=at)
    version = version_at(row.site_id, row.protocol)

    def judged_with(*more: Fact) -> Judgement:
        return judge_world(_world(batch, gathered, version, at, more), at)

    now = judged_with()
    return now, [judged_with(one) for one in answers(now)]


def _told(
    batch: UUID, gathered: Gathered, at: datetime, more: Sequence[Fact] = ()
) -> tuple[Happening, ...]:
    """What happened, in order. What does not fit the record is a question about it.

    So it is folded by itself: a second account that does not fit leaves the first as it was.
    """
    told = [*gathered.told_of(batch), *more]
    fits = [one for one in told if one.uid not in gathered.parked]
    found = list(happenings(fits, at=at, rules=gathered.rules))
    for one in told:
        if one.uid in gathered.parked:
            alone = [one, *(word for word in fits if word.kind in NOTES)]
            found += (
                replace(parked, kind="parked")
                for parked in happenings(alone, at=at, rules=gathered.rules)
            )
    found += (one for one, since in gathered.signs_near(batch) if since <= at)
    return in_order(found)


def _world(
    batch: UUID,
    gathered: Gathered,
    version: Protocol,
    at: datetime,
    more: Sequence[Fact] = (),
) -> World:
    told = _told(batch, gathered, at, more)
    past = history(batch, told, lineage(told))
    return World(
        history=past,
        protocol=version,
        rules=gathered.rules,
        places=placings(past, gathered, version),
        cover=temperatures(gathered.readings),
        looked_at=gathered.looked_at(batch),
        coming=min((one for one in gathered.moments(batch) if one > at), default=None),
    )
