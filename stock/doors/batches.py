"""Placing and moving: the two doors through which animals come to stand where they stand."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import permissions
from protocols.permissions import AskedLine, AskedMove, AskedPlacement, Occupant
from protocols.values import Reason, Standing
from protocols.versions import UnknownProtocol, protocol
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.joins import joins, put_in
from stock.doors.measured import Measured, Value, measured_now
from stock.judging.load import judged
from stock.judging.worlds import Wanted, alive_in, world
from stock.ledger import Told
from stock.models import Balance, Batch, Fact, Line, Site, StayRow, WaterReading
from stock.queries.batch_lists import brought_to
from stock.refusals import NotFound, Refused, refuse


@dataclass(frozen=True, slots=True)
class PlaceAsked:
    """Who is to be placed where: so many of each line, typed counts, under which protocol."""

    sources: tuple[tuple[UUID, int], ...]
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    protocol: str


@dataclass(frozen=True, slots=True)
class MoveAsked:
    """Which stay is to end and where the next begins. `readings` are uids, or new values."""

    batch: UUID
    ended_stay: UUID
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    missing: int = 0
    searched: bool | None = None
    readings: tuple[UUID | Value, ...] = ()


@dataclass(frozen=True, slots=True)
class Moving:
    """What a move door has read: the world for the rules, and what was measured for it."""

    world: permissions.World
    stay: StayRow
    measured: tuple[Measured, ...]


def place_batch(asking: Asking, *, site: Site, asked: PlaceAsked) -> Answered:
    """Place animals out of their bags: a new batch, and day 1 of its first series."""
    access.site_for(asking.person, site.uid, access.HANDS)
    batch, stay = asking.new_uid(), names.new_uid(asking.now)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _placing_world(asking, site, asked),
            ask=lambda found: permissions.may_place(_placement(site, asked), found),
            tell=lambda found: _placed(asking, asked, batch, stay, found),
            show=lambda found: {},
            batch=batch,
        ),
    )


def move_batch(asking: Asking, *, site: Site, asked: MoveAsked) -> Answered:
    """Move all animals of a batch: one stay ends, the next begins."""
    access.site_for(asking.person, site.uid, access.HANDS)
    stay = names.new_uid(asking.now)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _moving(asking, site, asked),
            ask=lambda found: _move_reasons(asking, asked, found),
            tell=lambda found: _moved(asking, asked, found, stay),
            show=lambda found: {
                "move": {"stay": str(stay), "ended_stay": str(asked.ended_stay)},
            },
            batch=asked.batch,
        ),
    )


def may_move_now(asking: Asking, *, site: Site, asked: MoveAsked) -> tuple[Reason, ...]:
    """Every reason that stands against a move, as the door would give it. Changes nothing."""
    return permissions.may_move(_asked_move(asked), _moving(asking, site, asked).world)


def _placing_world(asking: Asking, site: Site, asked: PlaceAsked) -> permissions.World:
    try:
        version = protocol(asked.protocol)
    except UnknownProtocol as error:
        text = "There is no such protocol."
        raise Refused(refuse("unreadable", text, pointer="/protocol")) from error
    total = sum(count for _, count in asked.sources)
    wanted = Wanted(asked.container, asked.kit, None, balance=total)
    return world(site, wanted, version, asking.performed_at)


def _placement(site: Site, asked: PlaceAsked) -> AskedPlacement:
    """What is asked, with what each line still holds. Lines of other sites are not there."""
    here = Line.objects.filter(consignment__site=site, uid__in=dict(asked.sources))
    lines = {row.uid: row for row in here}
    if len(lines) < len(dict(asked.sources)):
        raise NotFound
    held = dict(
        Balance.objects.filter(holder__in=lines, place="received").values_list("holder", "n")
    )
    return AskedPlacement(
        lines=tuple(
            AskedLine(uid, lines[uid].text, count, held.get(uid, 0))
            for uid, count in asked.sources
        ),
        counts=asked.counts,
    )


def _placed(
    asking: Asking, asked: PlaceAsked, batch: UUID, stay: UUID, found: permissions.World
) -> Sequence[Told]:
    """The placement; where others are in the container, and the join that it is."""
    name, _, version = asked.protocol.partition("@")
    there = joins(found, asking.performed_at)
    body = {
        "batch": batch,
        "from": [{"line": line, "count": count} for line, count in asked.sources],
        "container": asked.container,
        "kit": asked.kit,
        "counts": list(asked.counts),
        "protocol": name,
        "version": int(version),
        "stay": stay,
        "joins": True if there else None,
    }
    uid = names.new_uid(asking.now)
    placed = Told("batch_placed", body, uid=uid, texts=asking.texts)
    return (placed, put_in(uid, batch, there, asked.container)) if there else (placed,)


def _moving(asking: Asking, site: Site, asked: MoveAsked) -> Moving:
    batch = Batch.read(uid=asked.batch, site=site)
    stay = StayRow.objects.filter(uid=asked.ended_stay, batch=asked.batch).first()
    if batch is None or stay is None:
        raise NotFound
    at, named = asking.performed_at, _named(site, asked)
    limit, closed = _limit_at(batch, at, asking.now)
    new = [one for one in asked.readings if isinstance(one, Value)]
    measured = measured_now(asking, site.uid, new)
    wanted = Wanted(
        container=asked.container,
        kit=asked.kit,
        stay=stay,
        balance=alive_in(batch.uid),
        limit=limit,
        closed=closed,
        readings=tuple(one.reading for one in measured if one.reading),
        named=named,
    )
    return Moving(world(site, wanted, protocol(batch.protocol), at), stay, measured)


def _limit_at(batch: Batch, at: datetime, now: datetime) -> tuple[datetime | None, bool]:
    """Its limit, and whether nobody of it is here: as kept, unless that is overtaken."""
    if at == now:
        (kept,) = brought_to([batch], at)
        return kept.limit, kept.state == "closed"
    judgement = judged(batch.uid, at)
    return judgement.limit, judgement.state == "closed"


def _named(site: Site, asked: MoveAsked) -> frozenset[UUID]:
    """The readings that are named by uid; those of other sites are not there."""
    named = frozenset(one for one in asked.readings if isinstance(one, UUID))
    if named and WaterReading.objects.filter(uid__in=named, site=site).count() < len(named):
        raise NotFound
    return named


def _asked_move(asked: MoveAsked) -> AskedMove:
    return AskedMove(asked.ended_stay, asked.counts, asked.missing)


def _move_reasons(asking: Asking, asked: MoveAsked, found: Moving) -> Iterator[Reason]:
    if found.stay.ended_by is not None and asking.standing is Standing.ASKED:
        text = "Somebody else has told of this move."
        raise Refused(
            Reason("stay_ended", "stay_ended", text),
            existing=_told_before(found.stay),
            yours={"performed_at": asking.performed_at, "counts": list(asked.counts)},
        )
    yield from permissions.may_move(_asked_move(asked), found.world)


def _told_before(stay: StayRow) -> dict[str, Any]:
    """The move that ended the stay: who, when, how many, with which kit."""
    fact = Fact.objects.get(uid=str(stay.ended_by))
    return {
        "uid": str(fact.uid),
        "performed_at": fact.performed_at,
        "doer": str(fact.doer),
        "to_container": fact.body.get("container"),
        "kit": fact.body.get("kit"),
        "counts": fact.body.get("counts", []),
        "missing": fact.body.get("missing", 0),
    }


def _moved(asking: Asking, asked: MoveAsked, found: Moving, stay: UUID) -> Sequence[Told]:
    """The move, and before it what was measured for it."""
    named = [one for one in asked.readings if isinstance(one, UUID)]
    body = {
        "batch": asked.batch,
        "ended_stay": asked.ended_stay,
        "stay": stay,
        "container": asked.container,
        "kit": asked.kit,
        "counts": list(asked.counts),
        "missing": asked.missing,
        "readings": [*named, *(one.uid for one in found.measured)],
        "searched": asked.searched,
    }
    there = _joined_by(asking, asked, found)
    uid = asking.uid or names.new_uid(asking.now)
    if there:
        body["joins"] = True
    move = Told("batch_moved", body, uid=uid, texts=asking.texts)
    if there:
        return (
            move,
            put_in(uid, asked.batch, there, asked.container),
            *(one.told for one in found.measured),
        )
    return (move, *(one.told for one in found.measured))


def _joined_by(asking: Asking, asked: MoveAsked, found: Moving) -> Occupant | None:
    """With whom they are now, if that was not another account of a move told before."""
    there = joins(found.world, asking.performed_at)
    if asking.standing is Standing.ASKED or found.stay.ended_by is not None:
        return None
    return None if there is None or there.batch == asked.batch else there
