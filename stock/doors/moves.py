"""Moving all animals of a batch: the door through which one stay ends and the next begins."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import permissions, worlds
from protocols.stocking_plan import Stocked
from protocols.values import Reason, Standing
from protocols.worlds import AskedMove, Occupant
from stock import access, names
from stock.answers import Answered
from stock.doors.begun_moves import forget_begun_move
from stock.doors.door import Asking, Door, enter
from stock.doors.joins import joins, put_in
from stock.doors.measured import Measured, Value, measured_now
from stock.doors.named import refuse_used_name
from stock.judging.load import judged
from stock.judging.worlds import Wanted, alive_in, world
from stock.ledger import Told
from stock.models import Batch, Fact, Log, Site, StayRow, WaterReading
from stock.queries.batch_lists import brought_to
from stock.queries.names_of_stays import stay_named
from stock.queries.protocols import version_at
from stock.queries.shared_tanks import entering
from stock.queries.stocking import kinds_of_batch, stocked_here
from stock.queries.stocking_shown import stocking_told
from stock.refusals import NotFound, Refused


@dataclass(frozen=True, slots=True)
class MoveAsked:
    """Which stay is to end and where the next begins. `readings` are uids, or new values.

    `stay` is the name of the stay that begins, where the asker's device chose one; `carried`
    what came along, where somebody said: `water_ml` as typed, `things`. `beside` are others
    who did it with the doer, `around` what was ticked off of the steps around it.
    """

    batch: UUID
    ended_stay: UUID
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    missing: int = 0
    searched: bool | None = None
    readings: tuple[UUID | Value, ...] = ()
    stay: UUID | None = None
    carried: Mapping[str, Any] = field(default_factory=dict)
    beside: tuple[UUID, ...] = ()
    around: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Moving:
    """What a move door has read: the world for the rules, and what was measured for it.

    Without a world it waits: the batch, or the stay that it ends, is known only from reports
    that wait themselves.
    """

    measured: tuple[Measured, ...]
    world: worlds.World | None = None
    stay: StayRow | None = None
    stocked: Stocked | None = None


def move_batch(asking: Asking, *, site: Site, asked: MoveAsked) -> Answered:
    """Move all animals of a batch: one stay ends, the next begins."""
    access.site_for(asking.person, site.uid, access.HANDS)
    stay = asked.stay or names.new_uid(asking.now)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _load(asking, log, site, asked),
            ask=lambda found: _move_reasons(asking, asked, found),
            tell=lambda found: _moved(asking, asked, found, stay),
            show=lambda found: {
                "move": {"stay": str(stay), "ended_stay": str(asked.ended_stay)},
                **(stocking_told(found.stocked) if found.stocked else {}),
            },
            act=lambda found: forget_begun_move(asked.ended_stay),
            batch=asked.batch,
        ),
    )


def may_move_now(asking: Asking, *, site: Site, asked: MoveAsked) -> tuple[Reason, ...]:
    """Every reason that stands against a move, as the door would give it. Changes nothing."""
    batch = Batch.read(uid=asked.batch, site=site)
    stay = stay_named(asked.batch, asked.ended_stay)
    if batch is None or stay is None:
        raise NotFound
    new = [one for one in asked.readings if isinstance(one, Value)]
    measured = measured_now(asking, site.uid, new)
    found = _world(asking, site, batch, stay, asked, measured)
    reasons = (
        *permissions.may_move(_asked_move(stay, asked), found),
        *entering(asked.container, asked.batch, asking.performed_at),
    )
    after = _stocked(found, batch, asked)
    return (*reasons, *after.warnings) if after else reasons


def _load(asking: Asking, log: Log, site: Site, asked: MoveAsked) -> Moving:
    access.people_are_ours(site, asked.beside)
    if asked.stay is not None:
        refuse_used_name(asked.stay, log, pointer="/stay")
    batch = Batch.read(uid=asked.batch, site=site)
    stay = stay_named(asked.batch, asked.ended_stay)
    new = [one for one in asked.readings if isinstance(one, Value)]
    measured = measured_now(asking, site.uid, new)
    if batch is None or stay is None:
        _waits(asking, log, asked)
        return Moving(measured)
    found = _world(asking, site, batch, stay, asked, measured)
    return Moving(measured, found, stay, _stocked(found, batch, asked))


def _stocked(found: worlds.World, batch: Batch, asked: MoveAsked) -> Stocked | None:
    """What will become of as many as were counted: counts are blind, so not of the balance."""
    if not asked.counts:
        return None
    kinds = kinds_of_batch(batch.uid, asked.counts[-1])
    return stocked_here(found, kinds, arrival=False)


def _waits(asking: Asking, log: Log, asked: MoveAsked) -> None:
    """What the record does not know yet: a report that happened waits with those it follows."""
    known = access.is_spoken_of(log.uid, asked.batch, asked.ended_stay)
    if asking.standing is Standing.ASKED or not known:
        raise NotFound


def _world(
    asking: Asking,
    site: Site,
    batch: Batch,
    stay: StayRow,
    asked: MoveAsked,
    measured: Sequence[Measured] = (),
) -> worlds.World:
    at, named = asking.performed_at, _named(site, asked)
    limit, closed = _limit_at(batch, at, asking.now)
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
    return world(site, wanted, version_at(site.uid, batch.protocol), at)


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


def _asked_move(stay: StayRow, asked: MoveAsked) -> AskedMove:
    return AskedMove(stay.uid, asked.counts, asked.missing)


def _move_reasons(asking: Asking, asked: MoveAsked, found: Moving) -> Iterator[Reason]:
    if found.stay is None or found.world is None:
        return
    if found.stay.ended_by is not None and asking.standing is Standing.ASKED:
        text = "Somebody else has told of this move."
        raise Refused(
            Reason("stay_ended", "stay_ended", text),
            existing=_told_before(found.stay),
            yours={"performed_at": asking.performed_at, "counts": list(asked.counts)},
        )
    yield from permissions.may_move(_asked_move(found.stay, asked), found.world)
    yield from entering(asked.container, asked.batch, asking.performed_at)
    if found.stocked is not None:
        yield from found.stocked.warnings


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
    body: dict[str, Any] = {
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
    if asked.carried:
        body["carried"] = dict(asked.carried)
    if beside := [one for one in asked.beside if one != (asking.doer or asking.person.uid)]:
        body["with"] = beside
    if asked.around:
        body["around"] = list(asked.around)
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
    if found.stay is None or found.world is None or found.stay.ended_by is not None:
        return None
    if asking.standing is Standing.ASKED:
        return None
    there = joins(found.world, asking.performed_at)
    return None if there is None or there.batch == asked.batch else there
