"""What is true now for somebody who wants to place or move: read under the site's lock."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols import worlds
from protocols.filled import fillings
from protocols.values import Protocol, Readiness, Reading, RulesHistory, State
from protocols.worlds import Occupant
from stock.judging.equipment import Equipment, load_equipment
from stock.judging.makes import makes_known, makes_named
from stock.judging.water import instruments_in, readings_in, trust_in, water_at
from stock.models import Balance, Container, Kit, Missing, Site, StayRow, Upkeep
from stock.queries.sites import rules_history
from stock.refusals import NotFound

ALTERNATIVES_MOST = 5
SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Where animals are to go: into which container, with which kit, and from which stay."""

    container: UUID
    kit: UUID | None
    stay: StayRow | None
    balance: int
    limit: datetime | None = None
    closed: bool = False
    readings: tuple[Reading, ...] = ()
    named: frozenset[UUID] = frozenset()


def world(site: Site, wanted: Wanted, version: Protocol, at: datetime) -> worlds.World:
    """The world for one placement or move; a container or kit of another site is not there."""
    container = Container.read(uid=wanted.container, site=site)
    kit = wanted.kit and Kit.read(uid=wanted.kit, site=site)
    if container is None or (wanted.kit and kit is None):
        raise NotFound
    source = wanted.stay.container_id if wanted.stay else None
    rules = rules_history(site.uid)
    asked = {uid for uid in (wanted.container, wanted.kit, source) if uid is not None}
    found = load_equipment(asked, rules=rules, at=at)
    readings = _readings(found, wanted, rules)
    drying = version.drying
    told = found.told.get(container.uid, ())
    return worlds.World(
        at=at,
        zone=ZoneInfo(site.zone),
        rules=rules.at(at),
        protocol=version,
        target=_container(container, found.container(container.uid, drying, at)),
        kit=_kit(kit, found.kit(kit.uid, drying, at)) if kit else None,
        target_water=water_at(readings[container.uid], at, wanted.named),
        balance=wanted.balance,
        source=_source(source),
        source_water=water_at(readings[source], at, wanted.named) if source else None,
        stay=wanted.stay.uid if wanted.stay and wanted.stay.ended_latest is None else None,
        limit=wanted.limit,
        closed=wanted.closed,
        ready_kits=ready_now(site.uid, "kit", drying.drying, at),
        ready_containers=ready_now(site.uid, "container", drying.drying, at),
        fillings=fillings(told, container.uid, at),
        makes=makes_known(makes_named(told)),
    )


def ready_now(
    site: UUID, what: str, drying: timedelta, at: datetime
) -> tuple[worlds.Equipment, ...]:
    """Containers or kits that the cache knows to be ready, by label. Two queries."""
    rows = Upkeep.objects.filter(
        site=site, what=what, state__in=(State.DRYING, State.READY), ready_at__lte=at
    )
    model: type[Kit] | type[Container] = Kit if what == "kit" else Container
    uids = list(rows.values_list("subject", flat=True))
    ready = Readiness(State.READY)
    things = model.objects.filter(uid__in=uids).order_by("label")[:ALTERNATIVES_MOST]
    return tuple(worlds.Equipment(one.uid, one.label, ready) for one in things)


def occupant_of(container: UUID) -> Occupant | None:
    """Who stands in a container. Two queries."""
    stay = StayRow.objects.filter(container=container, ended_latest=None).first()
    if stay is None:
        return None
    return Occupant(
        batch=stay.batch_id,
        code=stay.batch.code,
        alive=alive_in(stay.batch_id),
        since=stay.began_latest,
        earliest_end=stay.batch.earliest_end,
        limit=stay.batch.limit,
    )


def alive_in(batch: UUID) -> int:
    found = Balance.objects.filter(holder=batch, place="alive").values_list("n", flat=True)
    return found.first() or 0


def _container(row: Container, readiness: Readiness) -> worlds.Equipment:
    return worlds.Equipment(
        row.uid,
        row.label,
        readiness,
        occupant=occupant_of(row.uid),
        search_open=Missing.objects.filter(
            container=row, searched_at=None, open__gt=0
        ).exists(),
    )


def _kit(row: Kit, readiness: Readiness) -> worlds.Equipment:
    stay = (
        StayRow.objects.filter(kit=row, ended_latest=None).select_related("container").first()
    )
    where = stay.container.label if stay else None
    return worlds.Equipment(row.uid, row.label, readiness, where=where)


def _source(container: UUID | None) -> worlds.Equipment | None:
    if container is None:
        return None
    row = Container.objects.get(uid=container)
    return worlds.Equipment(row.uid, row.label, Readiness(State.IN_USE))


def _readings(
    found: Equipment, wanted: Wanted, rules: RulesHistory
) -> Mapping[UUID, Sequence[Reading]]:
    """What was read in the containers, with what was measured for this very move."""
    told = found.told
    trust = trust_in(instruments_in(one for each in told.values() for one in each))
    read: dict[UUID, list[Reading]] = _by_container(wanted.readings)
    containers = {wanted.container, *({wanted.stay.container_id} if wanted.stay else ())}
    return {
        uid: sorted(
            [*readings_in(told.get(uid, ()), trust, rules), *read.get(uid, ())],
            key=lambda one: (one.at, one.uid),
        )
        for uid in containers
    }


def _by_container(readings: Iterable[Reading]) -> dict[UUID, list[Reading]]:
    found: dict[UUID, list[Reading]] = {}
    for one in readings:
        found.setdefault(one.container, []).append(one)
    return found
