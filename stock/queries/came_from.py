"""Where the animals of a batch came from, and with whom it could be put together."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.joining import JoinEffect, Member, join_effect
from stock.models import Batch, Fact, Kin, Origin, StayRow, Transfer
from stock.queries.origins import LINEAGE
from stock.queries.protocols import version_at


@dataclass(frozen=True, slots=True)
class Forebear:
    """One batch of a lineage; `depth` is how many splits and joins lie after it."""

    uid: UUID
    code: str
    depth: int
    came: str  # placed, split, joined, found
    at: datetime
    count: int  # how many came into it
    closed: bool
    suppliers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Passage:
    """So many went from one batch into another."""

    begin: UUID
    end: UUID
    count: int


@dataclass(frozen=True, slots=True)
class CameFrom:
    """The lineage of a batch, the oldest first."""

    batches: tuple[Forebear, ...]
    passages: tuple[Passage, ...]


WAYS = {"batch_split": "split", "batches_joined": "joined", "found_again": "found"}


def came_from(batch: Batch) -> CameFrom:
    """Every batch this one came out of, and how many went which way. Five queries."""
    kin = Kin.objects.filter(batch=batch, how__in=LINEAGE).values("of")
    rows = list(Batch.objects.filter(Q(uid=batch.uid) | Q(uid__in=kin)))
    uids = [row.uid for row in rows]
    links = Kin.objects.filter(batch__in=uids, of__in=uids, how="parent")
    parents = list(links.values_list("batch", "of", "fact"))
    facts = Fact.objects.filter(uid__in=[fact for _, _, fact in parents])
    kinds = {
        uid: (kind, at) for uid, kind, at in facts.values_list("uid", "kind", "performed_at")
    }
    by = {child: kinds[fact] for child, _, fact in parents if fact in kinds}
    moved = Transfer.objects.filter(to_holder__in=uids)
    goings = [one for one in moved if one.from_holder != one.to_holder]
    depth = _depths(batch.uid, [(child, parent) for child, parent, _ in parents])
    suppliers = _suppliers(uids)
    found = []
    for row in rows:
        kind, at = by.get(row.uid, ("", row.placed_at))
        found.append(
            Forebear(
                uid=row.uid,
                code=row.code,
                depth=depth.get(row.uid, 0),
                came=WAYS.get(kind, "placed"),
                at=at,
                count=sum(one.count for one in goings if one.to_holder == row.uid),
                closed=row.closed_at is not None,
                suppliers=suppliers.get(row.uid, ()),
            )
        )
    known = set(uids)
    return CameFrom(
        tuple(sorted(found, key=lambda one: (-one.depth, one.at, one.code))),
        tuple(
            Passage(one.from_holder, one.to_holder, one.count)
            for one in goings
            if one.from_holder in known
        ),
    )


def _depths(batch: UUID, links: list[tuple[UUID, UUID]]) -> dict[UUID, int]:
    """The longest way from each batch to this one. A lineage has no rings."""
    depths, waiting = {batch: 0}, [batch]
    while waiting:
        child = waiting.pop()
        for one, parent in links:
            if one == child and depths.get(parent, -1) < depths[child] + 1:
                depths[parent] = depths[child] + 1
                waiting.append(parent)
    return depths


def _suppliers(batches: list[UUID]) -> dict[UUID, tuple[str, ...]]:
    """Who sent the animals that were placed in each of these batches. One query."""
    found: dict[UUID, set[str]] = {}
    rows = Origin.objects.filter(batch__in=batches)
    for batch, name in rows.values_list("batch", "line__consignment__supplier__name"):
        found.setdefault(batch, set()).add(name)
    return {batch: tuple(sorted(names)) for batch, names in found.items()}


@dataclass(frozen=True, slots=True)
class Companion:
    """Another batch of the site, where it is, and what all together would have."""

    uid: UUID
    code: str
    container: UUID
    label: str
    limit: datetime | None
    earliest_end: datetime | None
    restarts: bool


def companions(stay: StayRow, at: datetime) -> list[Companion]:
    """With whom the batch of this stay could be put together in its container. One query."""
    rows = StayRow.objects.filter(container__site=stay.batch.site_id, ended_latest=None)
    others = rows.exclude(uid=stay.uid).select_related("batch", "container")
    return [_companion(stay, one, at) for one in others.order_by("container__label")]


def _companion(stay: StayRow, other: StayRow, at: datetime) -> Companion:
    version = version_at(stay.batch.site_id, stay.batch.protocol)
    effect: JoinEffect = join_effect(
        [_member(stay.batch), _member(other.batch)],
        came_in=[other.batch_id],
        target_ready=False,
        at=at,
        stay_limit=version.stay_limit,
    )
    return Companion(
        uid=other.batch_id,
        code=other.batch.code,
        container=other.container_id,
        label=other.container.label,
        limit=effect.limit,
        earliest_end=effect.earliest_end(version),
        restarts=bool(effect.restarted),
    )


def _member(batch: Batch) -> Member:
    complete = batch.series_state == "complete"
    return Member(batch.uid, batch.series_started, batch.moves, batch.limit, complete)
