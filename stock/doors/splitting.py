"""Splits and joins: one batch becomes several, several become one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import dividing
from protocols.dividing import AskedJoin, AskedPart
from protocols.joining import Member
from protocols.losses import Living
from protocols.values import Judgement, Reason, SeriesState
from protocols.worlds import World
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.named import refuse_used_name
from stock.judging.load import judged, judged_many
from stock.judging.worlds import Wanted, world
from stock.ledger import Told
from stock.models import Batch, Log, Site, StayRow
from stock.queries.counts import batches_now, living
from stock.queries.kin import consequence
from stock.queries.protocols import version_at, versions_at
from stock.queries.shared_tanks import entering
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class PartAsked:
    """So many go elsewhere, or stay where they are if no other container is named."""

    count: int
    container: UUID | None = None
    kit: UUID | None = None
    uid: UUID | None = None


@dataclass(frozen=True, slots=True)
class JoinAsked:
    """Which batches are together from now on, where; `told_apart` if they can be told apart."""

    members: tuple[UUID, ...]
    container: UUID
    kit: UUID | None = None
    told_apart: bool = False


@dataclass(frozen=True, slots=True)
class Splitting:
    """What the door of a split has read; parts with the uids of batch and stay."""

    living: Living
    stay: StayRow | None
    parts: tuple[tuple[UUID, UUID, PartAsked, World | None], ...]


@dataclass(frozen=True, slots=True)
class Joining:
    """What the door of a join has read."""

    asked: AskedJoin
    rows: tuple[Batch, ...]
    judgements: dict[UUID, Judgement]

    @property
    def consequence(self) -> dict[str, Any]:
        return consequence(self.rows, self.judgements, self.asked)


def split_batch(asking: Asking, *, batch: UUID, parts: Sequence[PartAsked]) -> Answered:
    """Part a batch: it is closed, and every part is a new one with the history of all."""
    row, site = access.batch_for(asking.person, batch, access.HANDS)

    def show(found: Splitting) -> dict[str, Any]:
        order = [uid for uid, *_ in found.parts]
        shown = batches_now(order, asking.now)
        return {"children": sorted(shown, key=lambda one: order.index(UUID(one["uid"])))}

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _splitting(asking, log, row, parts),
            ask=lambda found: (
                *dividing.may_split(
                    found.living,
                    [AskedPart(part.count, there) for _, _, part, there in found.parts],
                ),
                *_entering(found, batch, asking.performed_at),
            ),
            tell=lambda found: (_split(asking, batch, found),),
            show=show,
        ),
    )


def join_batches(asking: Asking, *, asked: JoinAsked) -> Answered:
    """Put batches together: they share the worst history and the earliest limit."""
    site = one_site(asking, asked.members)
    batch, stay = asking.new_uid(), names.new_uid(asking.now)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _joining(asking, site, asked),
            ask=lambda found: dividing.may_join(found.asked),
            tell=lambda found: (_joined(asking, asked, found, batch, stay),),
            show=lambda found: {"consequence": found.consequence},
            batch=batch,
        ),
    )


def may_join_now(
    asking: Asking, *, asked: JoinAsked
) -> tuple[tuple[Reason, ...], dict[str, Any]]:
    """Every reason that stands against a join, and what it would do. Changes nothing."""
    found = _joining(asking, one_site(asking, asked.members), asked)
    return tuple(dividing.may_join(found.asked)), found.consequence


def one_site(asking: Asking, members: Sequence[UUID]) -> Site:
    """The site of all of them: a request goes into one record book."""
    sites = {
        site.uid: site
        for _, site in (
            access.batch_for(asking.person, one, access.HANDS) for one in dict.fromkeys(members)
        )
    }
    if len(sites) != 1:
        text = "Only batches of one site can be joined."
        raise Refused(refuse("unreadable", text, pointer="/members"))
    return sites.popitem()[1]


def _splitting(asking: Asking, log: Log, row: Batch, parts: Sequence[PartAsked]) -> Splitting:
    for number, part in enumerate(parts):
        if part.uid is not None:
            refuse_used_name(part.uid, log, pointer=f"/parts/{number}/uid")
    stay = StayRow.objects.filter(batch=row, ended_latest=None).first()
    limit = judged(row.uid, asking.performed_at).limit
    version, found = version_at(row.site_id, row.protocol), []
    for part in parts:
        there = None
        if part.container is not None and not (stay and stay.container_id == part.container):
            wanted = Wanted(part.container, part.kit, stay, balance=part.count, limit=limit)
            there = world(row.site, wanted, version, asking.performed_at)
        uid = part.uid or names.new_uid(asking.now)
        found.append((uid, names.new_uid(asking.now), part, there))
    return Splitting(living([row.uid])[row.uid], stay, tuple(found))


def _entering(found: Splitting, batch: UUID, at: datetime) -> Iterator[Reason]:
    for number, (_, _, part, there) in enumerate(found.parts):
        if there is not None and part.container is not None:
            for one in entering(part.container, batch, at):
                yield replace(one, pointer=f"/parts/{number}/container")


def _split(asking: Asking, batch: UUID, found: Splitting) -> Told:
    here = found.stay
    if here is None:
        raise Refused(refuse("batch_closed", "Nobody of this batch is here any more."))
    told = [
        {
            "batch": uid,
            "stay": stay,
            "count": part.count,
            "container": here.container_id if there is None else part.container,
            "kit": here.kit_id if there is None else part.kit,
            "stays_here": there is None,
        }
        for uid, stay, part, there in found.parts
    ]
    body = {"batch": batch, "parts": told}
    return Told("batch_split", body, uid=asking.uid, texts=asking.texts)


def _joining(asking: Asking, site: Site, asked: JoinAsked) -> Joining:
    members = tuple(dict.fromkeys(asked.members))
    at = asking.performed_at
    rows = {one.uid: one for one in Batch.objects.filter(uid__in=members, site=site)}
    if len(rows) < len(members):
        raise NotFound
    judgements, alive = judged_many(members, at), living(members)
    stays = StayRow.objects.filter(batch__in=members, ended_latest=None)
    stay_of = {stay.batch_id: stay for stay in stays}
    came_in = [uid for uid in members if not _is_there(stay_of.get(uid), asked.container)]
    versions = versions_at(site.uid, (row.protocol for row in rows.values()))
    worlds = [
        (uid, world(site, _wanted(asked, stay_of.get(uid), alive[uid]), version, at))
        for uid in members
        for version in (versions.of(rows[uid].protocol),)
    ]
    coming = [(uid, there) for uid, there in worlds if uid in came_in]
    return Joining(
        AskedJoin(
            members=[_member(judgements[uid]) for uid in members],
            target=worlds[0][1].target,
            came_in=frozenset(came_in),
            worlds=coming,
            codes=[(uid, alive[uid]) for uid in members],
            at=at,
        ),
        tuple(rows[uid] for uid in members),
        judgements,
    )


def _is_there(stay: StayRow | None, container: UUID) -> bool:
    return stay is not None and stay.container_id == container


def _wanted(asked: JoinAsked, stay: StayRow | None, living: Living) -> Wanted:
    return Wanted(asked.container, asked.kit, stay, balance=living.alive)


def _member(judgement: Judgement) -> Member:
    series = judgement.series
    started = series.started if series else None
    return Member(
        batch=judgement.batch,
        start=started.latest if started else None,
        moves=series.moves if series else 0,
        limit=judgement.limit,
        complete=series is not None and series.state is SeriesState.COMPLETE,
    )


def _joined(asking: Asking, asked: JoinAsked, found: Joining, batch: UUID, stay: UUID) -> Told:
    members = [one.uid for one in found.rows]
    body = {
        "members": members,
        "batch": batch,
        "stay": stay,
        "container": asked.container,
        "kit": asked.kit,
        "came_in": [uid for uid in members if uid in found.asked.came_in],
        "told_apart": asked.told_apart,
    }
    return Told("batches_joined", body, texts=asking.texts)
