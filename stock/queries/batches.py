"""Batches as they are shown: the judgement, the counts, and where the animals came from."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from protocols.clocks import elapsed_text, local_text
from protocols.deviations import deviation_uid
from protocols.values import Deviation, Judgement, Observation, Series, Stay
from stock.models import Batch, Container, Kin, Kit, Origin, Task
from stock.queries.as_of import NOW, AsOf, counts_in, went


def shown_batch(
    batch: Batch, judgement: Judgement, at: datetime, then: AsOf = NOW
) -> dict[str, Any]:
    """One batch with everything that follows from its facts at a moment. Six queries.

    `then` is what its reader asked for; the judgement must be of the same moment and position.
    """
    zone = ZoneInfo(batch.site.zone)
    labels = labels_of(judgement.stays)
    rows = origins_of(batch.uid, then, batch.site_id)
    origins = list(rows.select_related("line__consignment__supplier", "line__species"))
    return {
        "uid": str(batch.uid),
        "site": str(batch.site_id),
        "code": batch.code,
        "protocol": batch.protocol,
        "state": judgement.state,
        "why": judgement.why,
        "species": _species(origins),
        "origins": _origins(origins),
        "counts": counts_in(went(batch.site_id, [batch.uid], then), batch.uid),
        "stay": _open_stay(judgement, labels, zone, at, then),
        "series": _series(judgement.series, zone),
        "past_series": [_series(one, zone) for one in judgement.past_series],
        "observation": _observation(judgement.observation, zone),
        "deviations": [shown_deviation(one) for one in judgement.deviations],
        "holds": [asdict(one) for one in judgement.holds],
        "stale": batch.stale,
    }


def timed(name: str, moment: datetime | None, zone: ZoneInfo) -> dict[str, Any]:
    """A moment in UTC, and as the wall clock of the place reads it, with its zone."""
    return {
        name: moment,
        f"{name}_local": None if moment is None else local_text(moment, zone),
    }


def shown_stay(stay: Stay, labels: Mapping[UUID, str], zone: ZoneInfo) -> dict[str, Any]:
    """A stay of the history: how long, against which limit, and the verdict."""
    length = stay.length
    allowed = None if stay.limit is None else stay.limit - stay.began.earliest
    return {
        "uid": str(stay.uid),
        **_where(stay, labels),
        **timed("started_at", stay.began.latest, zone),
        **timed("ended_at", stay.ended.latest if stay.ended else None, zone),
        **timed("limit", stay.limit, zone),
        "stay_s": None if length is None else int(length.total_seconds()),
        "stay_text": None if length is None else elapsed_text(length),
        "limit_s": None if allowed is None else int(allowed.total_seconds()),
        "over_s": int(stay.over.total_seconds()),
        "over_text": elapsed_text(stay.over) if stay.over else None,
        "verdict": stay.verdict,
    }


def shown_deviation(one: Deviation) -> dict[str, Any]:
    return {
        "uid": str(deviation_uid(one.batch, one.rule, one.cause)),
        "batch": str(one.batch),
        "rule": one.rule,
        "cause": str(one.cause),
        "effect": one.effect,
        "at": one.at,
        "numbers": dict(one.numbers),
        "decided": one.decided,
        "open": one.is_open,
    }


def labels_of(stays: Iterable[Stay]) -> dict[UUID, str]:
    """The labels of containers and kits. Two queries."""
    places = {one.container for one in stays}
    kits = {one.kit for one in stays if one.kit}
    return {
        **dict(Container.objects.filter(uid__in=places).values_list("uid", "label")),
        **dict(Kit.objects.filter(uid__in=kits).values_list("uid", "label")),
    }


def _where(stay: Stay, labels: Mapping[UUID, str]) -> dict[str, Any]:
    return {
        "container": str(stay.container),
        "container_label": labels.get(stay.container),
        "kit": stay.kit and str(stay.kit),
        "kit_label": stay.kit and labels.get(stay.kit),
    }


def _open_stay(
    judgement: Judgement,
    labels: Mapping[UUID, str],
    zone: ZoneInfo,
    at: datetime,
    then: AsOf,
) -> dict[str, Any] | None:
    stay = judgement.open_stay
    if stay is None:
        return None
    limit = judgement.limit
    left = None if limit is None else limit - at
    moves = Task.objects.filter(batch=judgement.batch, what="move").order_by("made_at", "uid")
    if then.at is None:
        moves = moves.filter(state__in=("open", "taken"))
    else:
        open_then = Q(closed_at=None) | Q(closed_at__gt=then.at)
        moves = moves.filter(open_then, made_at__lte=then.at)
    planned = moves.values_list("planned", flat=True).last()
    return {
        "uid": str(stay.uid),
        **_where(stay, labels),
        **timed("started_at", stay.began.latest, zone),
        **timed("limit", limit, zone),
        **timed("planned", planned, zone),
        "left_s": None if left is None else int(left.total_seconds()),
        "left_text": None if left is None else elapsed_text(left),
    }


def _series(series: Series | None, zone: ZoneInfo) -> dict[str, Any] | None:
    if series is None:
        return None
    return {
        "number": series.number,
        "state": series.state,
        "why": series.why,
        **timed("started_at", series.started.latest if series.started else None, zone),
        "moves": series.moves,
        "moves_needed": series.moves_needed,
        "elapsed_s": int(series.elapsed.total_seconds()),
        "elapsed_text": elapsed_text(series.elapsed),
        "needed_s": int(series.needed.total_seconds()),
        "needed_text": elapsed_text(series.needed),
        **timed("earliest_end", series.earliest_end, zone),
        **timed("earliest_end_if_kept", series.earliest_end_if_kept, zone),
    }


def _observation(one: Observation | None, zone: ZoneInfo) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "state": one.state,
        **timed("started_at", one.started.latest, zone),
        **timed("ends_at", one.ends_at, zone),
        "elapsed_s": int(one.elapsed.total_seconds()),
        "elapsed_text": elapsed_text(one.elapsed),
    }


def _origins(rows: Iterable[Origin]) -> list[dict[str, Any]]:
    """Every line they can have come from, through splits and joins."""
    return [
        {
            "line": str(row.line_id),
            "count": row.count,
            "batch": str(row.batch_id),
            "consignment": str(row.line.consignment_id),
            "waybill": row.line.consignment.waybill,
            "supplier": row.line.consignment.supplier.name,
        }
        for row in rows
    ]


def origins_of(batch: UUID, then: AsOf = NOW, site: UUID | None = None) -> QuerySet[Origin]:
    """Whom the batch was placed from, or those it came out of; counts are as placed then."""
    kin = Kin.objects.filter(batch=batch, how__in=("parent", "ancestor"))
    rows = Origin.objects.all()
    if then and site is not None:
        known = then.facts(site).values("uid")
        kin, rows = kin.filter(fact__in=known), rows.filter(fact__in=known)
    rows = rows.filter(Q(batch=batch) | Q(batch__in=kin.values("of")))
    return rows.order_by("line__n", "line", "batch")


def _species(rows: Iterable[Origin]) -> list[dict[str, Any]]:
    found: dict[str, int] = {}
    for row in rows:
        species = row.line.species
        name = species.scientific_name if species else row.line.text
        found[name] = found.get(name, 0) + row.count
    return [{"species": name, "count": count} for name, count in sorted(found.items())]
