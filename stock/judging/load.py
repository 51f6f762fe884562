"""From rows and facts to what the judge asks for, in a fixed number of queries."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.judgement import judge
from protocols.lineage import history
from protocols.order import happenings
from protocols.values import (
    Fact,
    History,
    Judgement,
    Lineage,
    Places,
    Protocol,
    RulesHistory,
    Temperatures,
)
from protocols.versions import protocol
from stock.judging.gather import Gathered, gather
from stock.judging.places import placings, temperatures
from stock.models import Batch
from stock.queries.sites import rules_of_sites

# What is said of a place or a kit and concerns whoever was there then.
CONCERNS_WHO_IS_THERE = frozenset({"contact_seen", "piece_fitted"})


@dataclass(frozen=True, slots=True)
class World:
    """Everything a judgement of one batch follows from, but the moment."""

    history: History
    protocol: Protocol
    rules: RulesHistory
    places: Places
    cover: Temperatures
    looked_at: frozenset[UUID]


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
    """The worlds of these batches."""
    rows = Batch.objects.filter(uid__in=list(batches)).values_list("uid", "site", "protocol")
    found = {uid: (site, key) for uid, site, key in rows}
    gathered = gather(found, known_by=known_by)
    rules = rules_of_sites({site for site, _ in found.values()}, known_by=known_by)
    return {
        uid: _world(uid, gathered, protocol(key), rules[site], at)
        for uid, (site, key) in found.items()
    }


def _world(
    batch: UUID,
    gathered: Gathered,
    version: Protocol,
    rules: RulesHistory,
    at: datetime,
) -> World:
    told = happenings(_facts_of(batch, gathered), at=at, rules=rules)
    past = history(batch, told, Lineage({}))
    return World(
        history=past,
        protocol=version,
        rules=rules,
        places=placings(past, gathered, version, rules),
        cover=temperatures(gathered, gathered.met[batch]),
        looked_at=_looked_at(batch, gathered),
    )


def _facts_of(batch: UUID, gathered: Gathered) -> list[Fact]:
    """Each fact once: of the batch, of whoever was where it was, and words about those."""
    found = {fact.uid: fact for fact in gathered.of_batches.get(batch, ())}
    for place in gathered.met[batch]:
        for fact in gathered.of_equipment.get(place, ()):
            if fact.kind in CONCERNS_WHO_IS_THERE:
                found[fact.uid] = fact
    return [*found.values(), *_words(found, gathered.words)]


def _words(told: Mapping[UUID, Fact], words: Mapping[UUID, Iterable[Fact]]) -> Iterable[Fact]:
    said = {word.uid: word for uid in told for word in words.get(uid, ()) if uid in words}
    deeper = {word.uid: word for uid in said for word in words.get(uid, ())}
    return (said | {uid: word for uid, word in deeper.items() if uid not in told}).values()


def _looked_at(batch: UUID, gathered: Gathered) -> frozenset[UUID]:
    """Places, kits, pieces and instruments: a new fact about any of them reaches this batch."""
    met = gathered.met[batch]
    pieces = {piece for kit in met for piece in gathered.pieces.get(kit, ())}
    instruments = {
        UUID(fact.body["instrument"])
        for place in met
        for fact in gathered.of_equipment.get(place, ())
        if fact.kind == "reading_taken" and "instrument" in fact.body
    }
    return met | pieces | instruments | {batch}
