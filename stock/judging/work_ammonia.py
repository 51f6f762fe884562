"""Ammonia alarms of batches, from the readings in the containers of their series."""

from collections.abc import Collection, Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.ammonia import Ammonia, Span, alarms_in
from protocols.clocks import parse_utc
from protocols.values import Rules
from stock.judging.ammonia import ammonia_read, assessed
from stock.models import Batch, Container


def ammonia_known(
    rows: Collection[Batch], *, rules: Rules, at: datetime
) -> dict[UUID, Ammonia]:
    """The alarms of these batches in the series that runs. One query where nobody read any."""
    spans = {row.uid: list(series_spans(row)) for row in rows}
    containers = {one.container for found in spans.values() for one in found}
    if not containers:
        return {}
    since = min(one.begins for found in spans.values() for one in found)
    readings = list(ammonia_read(containers, since, at))
    if not readings:
        return {}
    told = assessed(readings)
    volumes = dict(
        Container.objects.filter(uid__in=containers).values_list("uid", "fill_mark_l")
    )
    found = {}
    for uid, own in spans.items():
        alarms = alarms_in(own, told, rules.nh3_n_alarm_mg_l)
        if alarms:
            found[uid] = Ammonia(alarms, Decimal(volumes[own[-1].container]))
    return found


def series_spans(batch: Batch) -> Iterator[Span]:
    """The stays of the series that runs, or ran last, as they are kept; also before a split."""
    chain: dict[str, Any] = batch.chain or {}
    series = chain.get("series")
    started = parse_utc(series["started"]) if series and series["started"] else None
    for one in chain.get("stays", ()):
        ends = parse_utc(one["ended"]) if one["ended"] else None
        if started is not None and ends is not None and ends <= started:
            continue
        yield Span(UUID(one["container"]), parse_utc(one["began"]), ends)
