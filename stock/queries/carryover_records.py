"""What is on record of batches, as the carry-over model wants it. A fixed number of queries."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.carryover.recorded import CameIn, Found, Lost, Recorded, Stood
from protocols.lineage import lineage, placements
from protocols.values import Judgement, Placement, Placing, Readiness, State, Stay
from stock.judging.load import World, judge_world, load
from stock.models import Batch, CarryOver, Container, Loss, StayRow, Transfer

WENT_DEAD = frozenset({"dead", "presumed_lost"})
UNKNOWN = Placing(container=Readiness(State.DIRTY))


@dataclass(frozen=True, slots=True)
class _Looked:
    """What was read for all batches together."""

    zones: Mapping[UUID, ZoneInfo]
    containers: Mapping[UUID, Container]
    uses: Mapping[UUID, Sequence[StayRow]]  # by container and by kit, by when they ended
    losses: Mapping[UUID, Sequence[Loss]]
    models: Mapping[UUID, Mapping[str, Any]]  # what was computed of other batches
    moved_in: Mapping[tuple[UUID, UUID], int]


def records_of(batches: Iterable[UUID], at: datetime) -> dict[UUID, Recorded]:
    """Those of these batches that have animals somewhere, as known now, up to `at`."""
    worlds = load(batches, at)
    judged = {uid: judge_world(world, at) for uid, world in worlds.items()}
    chains = {uid: _chain(worlds[uid], judged[uid]) for uid in worlds}
    looked = _look(chains, worlds)
    return {
        uid: _recorded(uid, worlds[uid], judged[uid], chain, looked, at)
        for uid, chain in chains.items()
        if chain and judged[uid].alive
    }


def _chain(world: World, judged: Judgement) -> list[Stay]:
    """Where these animals stood, from the last stay back through splits and joins."""
    placed = {one.stay: one for one in placements(world.history)}
    left = sorted(judged.stays, key=lambda one: one.began.latest)
    chain: list[Stay] = []
    while left:
        stay = left.pop()
        if not chain or _led_to(stay, chain[-1], placed.get(chain[-1].uid)):
            chain.append(stay)
    return chain[::-1]


def _led_to(stay: Stay, then: Stay, placed: Placement | None) -> bool:
    """Whether the animals came out of this stay into that one."""
    return placed is not None and placed.source == stay.container and stay.uid != then.uid


def _look(chains: Mapping[UUID, Sequence[Stay]], worlds: Mapping[UUID, World]) -> _Looked:
    """Containers with their rooms, users of them and of kits, losses, joins, other models."""
    stays = [one for chain in chains.values() for one in chain]
    containers = Container.objects.filter(uid__in={one.container for one in stays})
    rows = StayRow.objects.filter(container__in={one.container for one in stays})
    rows |= StayRow.objects.filter(kit__in={one.kit for one in stays if one.kit})
    uses: dict[UUID, list[StayRow]] = {}
    for row in rows.filter(ended_latest__isnull=False).order_by("ended_latest", "uid"):
        for thing in (row.container_id, row.kit_id):
            if thing is not None:
                uses.setdefault(thing, []).append(row)
    family = {uid for world in worlds.values() for uid in world.history.family}
    losses: dict[UUID, list[Loss]] = {}
    for loss in Loss.objects.filter(batch__in=family).order_by("found_at", "fact"):
        losses.setdefault(loss.batch_id, []).append(loss)
    users = {row.batch_id for some in uses.values() for row in some} | family
    models = CarryOver.objects.filter(batch__in=users, found__isnull=False)
    zones = Batch.objects.filter(uid__in=list(chains)).values_list("uid", "site__zone")
    return _Looked(
        zones={uid: ZoneInfo(zone) for uid, zone in zones},
        containers={one.uid: one for one in containers.select_related("rack__room")},
        uses=uses,
        losses=losses,
        models={uid: found or {} for uid, found in models.values_list("batch", "found")},
        moved_in=_moved_in(family),
    )


def _moved_in(family: Iterable[UUID]) -> dict[tuple[UUID, UUID], int]:
    """How many living ones went from one batch into another, net of what went back."""
    rows = Transfer.objects.filter(
        from_holder__in=list(family), to_holder__in=list(family), to_place="alive"
    )
    moved: dict[tuple[UUID, UUID], int] = {}
    for origin, to, count in rows.values_list("from_holder", "to_holder", "count"):
        moved[origin, to] = moved.get((origin, to), 0) + count
    return {pair: count - moved.get(pair[::-1], 0) for pair, count in moved.items()}


def _recorded(
    batch: UUID,
    world: World,
    judged: Judgement,
    chain: Sequence[Stay],
    looked: _Looked,
    at: datetime,
) -> Recorded:
    line = {batch, *(one.batch for one in chain if one.batch)}
    water = _water_carried(world)
    return Recorded(
        at=at,
        zone=looked.zones[batch],
        alive=judged.alive,
        stood=[_stood(one, world, looked, water) for one in chain],
        lost=[_lost(one) for uid in sorted(line) for one in looked.losses.get(uid, ())],
        came_in=list(_came_in(world, line, looked)),
        temperatures=sorted(
            (reading.at, float(reading.value))
            for stay in chain
            for reading in world.cover.get(stay.container, ())
            if stay.began.earliest <= reading.at
            and (stay.ended is None or reading.at <= stay.ended.latest)
        ),
    )


def _water_carried(world: World) -> dict[UUID, float]:
    """Millilitres that came along, by the stay they came into, where somebody said."""
    return {
        UUID(one.body["stay"]): float(one.body["carried"]["water_ml"])
        for one in world.history.happenings
        if one.kind == "batch_moved" and "water_ml" in one.body.get("carried", {})
    }


def _stood(stay: Stay, world: World, looked: _Looked, water: Mapping[UUID, float]) -> Stood:
    container = looked.containers[stay.container]
    room, placing = container.rack.room, world.places.get(stay.uid, UNKNOWN)
    found = [_found(placing.container, stay.container, stay, looked)]
    if stay.kit is not None and placing.kit is not None:
        found.append(_found(placing.kit, stay.kit, stay, looked))
    return Stood(
        stay=stay.uid,
        began=stay.began.latest,
        volume_l=float(container.fill_mark_l),
        lights_on_h=_hour_of_day(room.light_on),
        lights_off_h=_hour_of_day(room.light_off),
        water_ml=water.get(stay.uid, 0.0),
        found=tuple(found),
    )


def _hour_of_day(wall: str) -> float:
    hours, minutes = wall.split(":")[:2]
    return int(hours) + int(minutes) / 60


def _found(condition: Readiness, thing: UUID, stay: Stay, looked: _Looked) -> Found:
    """A container or kit, with whoever was in it last before these animals."""
    before = [
        row
        for row in looked.uses.get(thing, ())
        if row.uid != stay.uid and row.ended_latest <= stay.began.latest  # type: ignore[operator]
    ]
    if not before:
        return Found(condition, None, None)
    last = before[-1]
    return Found(condition, last.ended_latest, _left_cysts(last, looked))


def _left_cysts(use: StayRow, looked: _Looked) -> float | None:
    """What the model of that batch says that it left there; None where it says nothing."""
    model = looked.models.get(use.batch_id)
    left = {} if model is None else model.get("left", {})
    found: float | None = left.get(str(use.uid))
    return found


def _lost(loss: Loss) -> Lost:
    return Lost(
        count=loss.count,
        dead=loss.fate in WENT_DEAD,
        found_at=loss.found_at,
        last_seen_at=loss.last_seen_at,
    )


def _came_in(world: World, line: set[UUID], looked: _Looked) -> list[CameIn]:
    """Batches that joined this line, with what the model says that they carried."""
    told = lineage(world.history.happenings)
    found = []
    for child in sorted(line):
        for link in told.of(child):
            fish = looked.moved_in.get((link.parent, child), 0)
            if link.parent not in line and fish > 0:
                found.append(CameIn(link.at, fish, _load(looked.models.get(link.parent))))
    return found


def _load(model: Mapping[str, Any] | None) -> float | None:
    """Expected parasites on each animal at the end of what was computed of a batch."""
    if model is None:
        return None
    return float(model["trophonts"][-1]) / max(int(model["alive"]), 1)
