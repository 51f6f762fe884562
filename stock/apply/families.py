"""Everything told of a family of batches, however the batches came out of one another."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from protocols.accounts import NOTES
from protocols.animals import KINDS
from protocols.uids import as_uid
from stock.models import Fact, Parked

TOLD = KINDS | NOTES
# What names a batch, or a report or dispatch that is of one.
NAMED = ("batch", "of", "happening", "dispatch")
POINTS_TO_A_REPORT = ("of", "happening")


@dataclass(frozen=True, slots=True)
class Family:
    """What is on record of a family, and what is parked and waits to be."""

    kept: tuple[Fact, ...]
    waiting: tuple[Fact, ...]

    @property
    def batches(self) -> frozenset[UUID]:
        return frozenset(
            as_uid(uid)
            for fact in self.kept
            if fact.kind in KINDS
            for uid in batches_named(fact)
        )


def family_of(site: UUID, facts: Iterable[Fact], batches: Iterable[UUID] = ()) -> Family:
    """The family that these facts and batches are of. A few queries, however large it is."""
    found: dict[UUID, Fact] = {}
    asked: set[UUID] = set()
    wanted = {uid for fact in facts for uid in named(fact)} | set(batches)
    meant = {uid for fact in facts for uid in _reports(fact)}
    here = Fact.objects.filter(log=site, kind__in=TOLD).defer("entry", "leaf")
    while wanted:
        asked |= wanted
        told = {fact.uid: fact for fact in here.filter(subjects__subject__in=wanted)}
        if meant:
            told |= {fact.uid: fact for fact in here.filter(uid__in=meant)}
        fresh = [told[uid] for uid in told.keys() - found.keys()]
        found |= told
        wanted = {uid for fact in fresh for uid in named(fact)} - asked
        meant = {uid for fact in fresh for uid in _reports(fact)} - found.keys()
    return _apart(found)


def named(fact: Fact) -> Iterator[UUID]:
    """The fact itself, and the batches, reports and dispatches that it speaks of."""
    yield fact.uid
    yield from (as_uid(fact.body[name]) for name in NAMED if name in fact.body)
    yield from map(as_uid, batches_named(fact))


def batches_named(fact: Fact) -> Iterator[str]:
    """The batches that a report names, as it was told."""
    body = fact.body
    if "batch" in body:
        yield body["batch"]
    yield from body.get("members", ())
    yield from (part["batch"] for part in body.get("parts", ()))
    yield from (part["batch"] for part in body.get("attribution", ()))


def _reports(fact: Fact) -> Iterator[UUID]:
    """Reports are no subjects of their own: they are found by their uids."""
    return (as_uid(fact.body[name]) for name in POINTS_TO_A_REPORT if name in fact.body)


def _apart(found: dict[UUID, Fact]) -> Family:
    """What a person settled is on record, as they said."""
    parked = Parked.objects.filter(fact__in=found).values_list("fact", "settled_by")
    settled = dict(parked)
    facts = sorted(found.values(), key=lambda fact: fact.seq)
    return Family(
        kept=tuple(fact for fact in facts if settled.get(fact.uid, fact) is not None),
        waiting=tuple(fact for fact in facts if settled.get(fact.uid, fact) is None),
    )
