"""Batches as far as work follows from them, from what is kept of their judgements."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

from protocols import tasks
from protocols.ammonia import Ammonia
from protocols.follow_ups import follow_ups
from protocols.tasks import BatchWork, Lost, SignSeen
from protocols.values import Deviation, Effect, Rules, SeriesState
from protocols.versions import Versions
from stock.judging.work_ammonia import ammonia_known
from stock.judging.work_incidents import Incidents, incidents_known
from stock.judging.work_water import KnownWater, water_known
from stock.models import (
    Balance,
    Batch,
    DeviationRow,
    Loss,
    Missing,
    StayRow,
)
from stock.queries.protocols import versions_at

# Losses after which the water is to be tested: what was taken on purpose says nothing of it.
LOST = ("dead", "culled", "escaped")

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class _Known:
    """Everything about some batches, by batch."""

    stays: Mapping[UUID, Sequence[StayRow]]
    alive: Mapping[UUID, int]
    deviations: Mapping[UUID, Sequence[Deviation]]
    missing: Mapping[UUID, Sequence[tasks.Missing]]
    losses: Mapping[UUID, Sequence[Lost]]
    water: Mapping[UUID, KnownWater]
    incidents: Incidents
    versions: Versions
    ammonia: Mapping[UUID, Ammonia]


def batches_known(
    site: UUID, batches: Collection[UUID], *, rules: Rules, at: datetime
) -> tuple[tuple[BatchWork, ...], dict[UUID, str]]:
    """What work of these batches follows from, and why some ended. Some twelve queries."""
    if not batches:
        return (), {}
    rows = list(Batch.objects.filter(uid__in=batches, site=site))
    known = _load(site, rows, rules, at)
    ended = {row.uid: row.why or row.state for row in rows if row.state == "closed"}
    return tuple(_work(row, known, rules) for row in rows), ended


def stays_of(batches: Collection[UUID]) -> dict[UUID, list[StayRow]]:
    """The stays of each batch by time. One query."""
    rows = StayRow.objects.filter(batch__in=batches).order_by("began_earliest", "uid")
    return _by_batch((row.batch_id, row) for row in rows)


def _load(site: UUID, rows: Sequence[Batch], rules: Rules, at: datetime) -> _Known:
    uids = [row.uid for row in rows]
    stays = stays_of(uids)
    places: dict[UUID, dict[str, int]] = defaultdict(dict)
    for holder, place, n in Balance.objects.filter(holder__in=uids).values_list(
        "holder", "place", "n"
    ):
        places[holder][place] = n
    lost = [uid for uid in uids if any(places[uid].get(place) for place in LOST)]
    sought = [uid for uid in uids if places[uid].get("unaccounted")]
    standing = {
        uid: found[-1].container_id
        for uid, found in stays.items()
        if found[-1].ended_latest is None
    }
    return _Known(
        stays=stays,
        alive={uid: places[uid].get("alive", 0) for uid in uids},
        deviations=_deviations(uids),
        missing=_missing(sought) if sought else {},
        losses=_losses(lost) if lost else {},
        water=water_known(frozenset(standing.values()), at),
        incidents=incidents_known(site, stays, at),
        versions=versions_at(site, (row.protocol for row in rows)),
        ammonia=ammonia_known(rows, rules=rules, at=at),
    )


def _work(row: Batch, known: _Known, rules: Rules) -> BatchWork:
    stays = known.stays.get(row.uid, ())
    stay = stays[-1] if stays and stays[-1].ended_latest is None else None
    version = known.versions.of(row.protocol)
    water = known.water.get(stay.container_id) if stay else None
    since = stay.began_earliest - timedelta(seconds=rules.reading_age_max_s) if stay else None
    readings = water.since(since) if water and since else ()
    return BatchWork(
        batch=row.uid,
        state=row.state,
        alive=known.alive[row.uid],
        container=stay.container_id if stay else None,
        kit=stay.kit_id if stay else None,
        stay=stay.uid if stay else None,
        stay_before=stays[-2].uid if len(stays) > 1 else None,
        placed=stay.began_earliest if stay else None,
        limit=row.limit,
        earliest_end=row.earliest_end,
        series=SeriesState(row.series_state) if row.state != "closed" else None,
        moves=row.moves,
        stay_limit=version.stay_limit,
        moves_least=version.moves_least,
        deviations=tuple(known.deviations.get(row.uid, ())),
        missing=tuple(known.missing.get(row.uid, ())),
        signs=tuple(_signs(known.deviations.get(row.uid, ()))),
        losses=tuple(known.losses.get(row.uid, ())),
        tested_at=water.tested_at if water else None,
        measured_at=water.measured_at if water else None,
        follow_ups=tuple(follow_ups(readings, protocol=version)),
        lids=tuple(known.incidents.lids.get(stay.container_id, ())) if stay else (),
        looks=tuple(known.incidents.looks.get(row.uid, ())),
        ammonia=known.ammonia.get(row.uid),
    )


def _deviations(batches: Sequence[UUID]) -> dict[UUID, list[Deviation]]:
    rows = DeviationRow.objects.filter(batch__in=batches, open=True).order_by("uid")
    return _by_batch(
        (
            row.batch_id,
            Deviation(
                batch=row.batch_id,
                rule=row.rule,
                cause=row.cause,
                effect=Effect(row.effect),
                at=row.at,
                numbers=row.numbers,
                by=row.by,
            ),
        )
        for row in rows
    )


def _missing(batches: Sequence[UUID]) -> dict[UUID, list[tasks.Missing]]:
    rows = Missing.objects.filter(batch__in=batches, open__gt=0)
    return _by_batch(
        (
            row.batch_id,
            tasks.Missing(
                row.fact,
                row.container_id,
                row.open,
                row.at,
                searched=row.searched_at is not None,
            ),
        )
        for row in rows
    )


def _losses(batches: Sequence[UUID]) -> dict[UUID, list[Lost]]:
    rows = Loss.objects.filter(batch__in=batches, fate__in=LOST)
    return _by_batch((row.batch_id, Lost(row.fact, row.count, row.found_at)) for row in rows)


def _signs(deviations: Iterable[Deviation]) -> Iterator[SignSeen]:
    """Signs that only one person has looked at so far, and who that was."""
    for one in deviations:
        if one.rule == "sign_seen" and one.by is not None:
            yield SignSeen(one.cause, one.by, one.at)


def _by_batch(pairs: Iterable[tuple[UUID, T]]) -> dict[UUID, list[T]]:
    found: dict[UUID, list[T]] = defaultdict(list)
    for uid, one in pairs:
        found[uid].append(one)
    return found
