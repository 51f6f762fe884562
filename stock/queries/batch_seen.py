"""One batch as its page shows it: from the kept judgement, or anew where it is overtaken."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.deviations import deviation_uid
from protocols.ruled import Protocol
from protocols.values import Judgement
from stock.judging.chain import chain_of
from stock.judging.load import judged
from stock.models import Batch, DeviationRow, Origin, Site, StayRow, Task
from stock.queries.amounts import newest_water
from stock.queries.batches import origins_of
from stock.queries.certified import places_of
from stock.queries.protocols import version_at
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class StaySeen:
    """One stay of the chain; `series` is the number of the series it counts to."""

    uid: UUID
    container: UUID
    container_label: str
    kit_label: str | None
    began: datetime
    ended: datetime | None
    limit: datetime | None
    verdict: str | None
    over_s: int | None
    series: int


@dataclass(frozen=True, slots=True)
class SeriesSeen:
    number: int
    state: str
    why: str | None
    started: datetime | None
    moves: int
    needed_s: int


@dataclass(frozen=True, slots=True)
class WatchSeen:
    """The observation after a complete series: running, stopped or done."""

    state: str
    started: datetime
    ends_at: datetime
    elapsed_s: int | None


@dataclass(frozen=True, slots=True)
class HoldSeen:
    uid: UUID
    at: datetime
    why: str


@dataclass(frozen=True, slots=True)
class MissingSeen:
    """So many that nobody has found, and the container that has to be searched."""

    fact: UUID
    container: str
    count: int
    since: datetime


@dataclass(frozen=True, slots=True)
class DeviationSeen:
    """A question about the batch, named for good by its uid."""

    uid: UUID
    rule: str
    effect: str
    at: datetime
    numbers: dict[str, Any]
    open: bool


@dataclass(frozen=True, slots=True)
class BatchSeen:
    """Everything the page of a batch shows."""

    batch: Batch
    site: Site
    light: tuple[str, str]
    stays: tuple[StaySeen, ...]
    series: SeriesSeen | None
    past_series: tuple[SeriesSeen, ...]
    watch: WatchSeen | None
    holds: tuple[HoldSeen, ...]
    missing: tuple[MissingSeen, ...]
    planned: datetime | None
    counts: dict[str, int]
    origins: tuple[Origin, ...]
    deviations: tuple[DeviationSeen, ...]
    version: Protocol

    @property
    def open_stay(self) -> StaySeen | None:
        return self.stays[-1] if self.stays and self.stays[-1].ended is None else None


def batch_head(uid: UUID) -> Batch:
    """The batch with its site. One query. Raises NotFound."""
    found = Batch.objects.select_related("site").filter(uid=uid).first()
    if found is None:
        raise NotFound
    return found


def stays_of(uid: UUID, *, with_water: bool = False) -> list[StayRow]:
    """The stays of a batch, each with the batch and its site. One query. Raises NotFound.

    With `with_water` each also says what was read in its container last, for `water_of`.
    """
    read = newest_water(None, "container") if with_water else {}
    rows = list(
        StayRow.objects.filter(batch=uid)
        .select_related("batch__site", "container__rack__room", "kit")
        .annotate(**read)
        .order_by("began_earliest", "uid")
    )
    if not rows:
        raise NotFound
    return rows


def batch_seen(rows: list[StayRow], at: datetime) -> BatchSeen:
    """The batch of these stays, with chain, counts, origins and questions. Four queries."""
    batch, last = rows[0].batch, rows[-1]
    judgement = overtaken(batch, at)
    chain = dict(batch.chain) if judgement is None else chain_of(judgement)
    labels = _labels(rows)
    room = last.container.rack.room
    origins = origins_of(batch.uid).select_related(
        "line__species", "line__consignment__supplier"
    )
    return BatchSeen(
        batch=batch,
        site=batch.site,
        light=(room.light_on, room.light_off),
        stays=tuple(_stays(chain, labels)),
        series=_series(chain["series"]) if chain["series"] else None,
        past_series=tuple(_series(one) for one in chain["past_series"]),
        watch=_watch(chain["observation"]),
        holds=tuple(
            HoldSeen(UUID(one["uid"]), parse_utc(one["at"]), one["why"])
            for one in chain["holds"]
        ),
        missing=tuple(_missing(one, labels) for one in chain["unaccounted"]),
        planned=_planned(batch),
        counts=places_of(batch.uid),
        origins=tuple(origins),
        deviations=tuple(_deviations(batch, judgement)),
        version=version_at(batch.site_id, batch.protocol),
    )


def overtaken(batch: Batch, at: datetime) -> Judgement | None:
    """A fresh judgement where facts or the clock have overtaken the kept one.

    The columns of `batch` follow it.
    """
    past = batch.fresh_until is not None and batch.fresh_until <= at
    if batch.chain and not batch.stale and not past:
        return None
    judgement = judged(batch.uid, at)
    series = judgement.series
    batch.state, batch.why, batch.limit = judgement.state, judgement.why, judgement.limit
    batch.earliest_end = judgement.earliest_end
    batch.earliest_end_if_kept = judgement.earliest_end_if_kept
    if series is not None:
        batch.series_state, batch.series_number = series.state, series.number
        batch.moves, batch.moves_needed = series.moves, series.moves_needed
    return judgement


def _deviations(batch: Batch, judgement: Judgement | None) -> list[DeviationSeen]:
    """The newest first. One query, none where it was judged anew."""
    if judgement is None:
        rows = DeviationRow.objects.filter(batch=batch)
        found = [
            DeviationSeen(one.uid, one.rule, one.effect, one.at, one.numbers, one.open)
            for one in rows
        ]
    else:
        found = [
            DeviationSeen(
                deviation_uid(one.batch, one.rule, one.cause),
                one.rule,
                one.effect,
                one.at,
                dict(one.numbers),
                one.is_open,
            )
            for one in judgement.deviations
        ]
    return sorted(found, key=lambda one: (one.at, one.uid), reverse=True)


def _labels(rows: list[StayRow]) -> dict[str, str]:
    labels = {str(row.container_id): row.container.label for row in rows}
    return labels | {str(row.kit_id): row.kit.label for row in rows if row.kit}


def _stays(chain: dict[str, Any], labels: dict[str, str]) -> list[StaySeen]:
    """Each stay with the series that had begun by then."""
    series = [*chain["past_series"], *([chain["series"]] if chain["series"] else [])]
    starts = [(parse_utc(one["started"]), one["number"]) for one in series if one["started"]]
    found = []
    for one in chain["stays"]:
        began = parse_utc(one["began"])
        numbers = [number for started, number in starts if started <= began]
        found.append(
            StaySeen(
                uid=UUID(one["uid"]),
                container=UUID(one["container"]),
                container_label=labels.get(one["container"], "elsewhere"),
                kit_label=labels.get(one["kit"]) if one["kit"] else None,
                began=began,
                ended=_moment(one["ended"]),
                limit=_moment(one["limit"]),
                verdict=one["verdict"],
                over_s=one["over_s"],
                series=max(numbers, default=1),
            )
        )
    return found


def _series(one: dict[str, Any]) -> SeriesSeen:
    return SeriesSeen(
        number=one["number"],
        state=one["state"],
        why=one["why"],
        started=_moment(one["started"]),
        moves=one["moves"],
        needed_s=one["needed_s"],
    )


def _watch(one: dict[str, Any] | None) -> WatchSeen | None:
    if one is None:
        return None
    return WatchSeen(
        one["state"], parse_utc(one["started"]), parse_utc(one["ends_at"]), one["elapsed_s"]
    )


def _missing(one: dict[str, Any], labels: dict[str, str]) -> MissingSeen:
    return MissingSeen(
        fact=UUID(one["fact"]),
        container=labels.get(one["container"], "elsewhere"),
        count=one["count"],
        since=parse_utc(one["since"]),
    )


def _planned(batch: Batch) -> datetime | None:
    """When staff mean to make the next move. One query."""
    moves = Task.objects.filter(batch=batch.uid, what="move", state__in=("open", "taken"))
    return moves.values_list("planned", flat=True).first()


def _moment(text: str | None) -> datetime | None:
    return None if text is None else parse_utc(text)
