"""Batches where they are, and their series as far as an early move can be reckoned from it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.moves_ahead import SeriesSoFar
from protocols.values import SeriesState
from protocols.versions import Versions
from stock.models import StayRow
from stock.queries.protocols import versions_at


@dataclass(frozen=True, slots=True)
class OpenStay:
    """A batch where it is, with the light of the room (local wall times).

    `state` and `moves` are those of the kept judgement; `so_far` is None while it is open what
    counts, and once nothing limits the stay.
    """

    code: str
    container: UUID
    began: datetime
    light: tuple[str, str]
    state: str
    moves: int
    so_far: SeriesSoFar | None


def stays_open(site: UUID, *, batches: Collection[UUID] | None = None) -> dict[UUID, OpenStay]:
    """The open stays of a site, or of some batches, by batch. One query, or two."""
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    if batches is not None:
        rows = rows.filter(batch__in=batches)
    stays = list(rows.select_related("batch", "container__rack__room").defer("batch__chain"))
    versions = versions_at(site, {row.batch.protocol for row in stays})
    return {row.batch_id: _open_stay(row, versions) for row in stays}


def _open_stay(row: StayRow, versions: Versions) -> OpenStay:
    room, batch = row.container.rack.room, row.batch
    return OpenStay(
        code=batch.code,
        container=row.container_id,
        began=row.began_earliest,
        light=(room.light_on, room.light_off),
        state=batch.state,
        moves=batch.moves,
        so_far=_so_far(row, versions),
    )


def _so_far(row: StayRow, versions: Versions) -> SeriesSoFar | None:
    batch = row.batch
    if batch.limit is None or batch.earliest_end is None or batch.stale:
        return None
    if batch.series_state != SeriesState.UNBROKEN.value:
        return None
    version = versions.of(batch.protocol)
    return SeriesSoFar(
        earliest_end=batch.earliest_end,
        moves=batch.moves,
        placed=row.began_earliest,
        limit=batch.limit,
        stay_limit=version.stay_limit,
        moves_least=version.moves_least,
    )
