"""How many there are, and where: of a batch, of a line, of a whole site."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Sum

from protocols.losses import Living
from stock import access
from stock.access import Person, Site
from stock.judging.load import judged_many
from stock.models import (
    Balance,
    Batch,
    Dispatch,
    HoldRow,
    Loss,
    Missing,
    Parked,
    StayRow,
)
from stock.queries.batches import shown_batch, timed
from stock.queries.names_of_stays import missing_named
from stock.refusals import NotFound


def living(batches: Iterable[UUID]) -> dict[UUID, Living]:
    """Who is alive of each batch, under the label of its container. Three queries."""
    wanted = list(batches)
    rows = Batch.objects.filter(uid__in=wanted).values_list("uid", "code", "closed_at")
    alive = dict(
        Balance.objects.filter(holder__in=wanted, place="alive").values_list("holder", "n")
    )
    labels = dict(
        StayRow.objects.filter(batch__in=wanted)
        .order_by("began_latest")
        .values_list("batch", "container__label")
    )
    return {
        uid: Living(labels.get(uid, code), alive.get(uid, 0), closed=closed_at is not None)
        for uid, code, closed_at in rows
    }


def batches_now(batches: Iterable[UUID], at: datetime) -> list[dict[str, Any]]:
    """Batches as they are at `at`, judged afresh, by code."""
    rows = list(Batch.objects.filter(uid__in=list(batches)).select_related("site"))
    judgements = judged_many([row.uid for row in rows], at)
    rows.sort(key=lambda row: row.code)
    return [shown_batch(row, judgements[row.uid], at) for row in rows]


def missing_for(person: Person, uid: UUID, roles: Iterable[str]) -> tuple[Missing, Site]:
    """Missing animals, with the site of their batch, if this person may do this there."""
    found = missing_named(uid)
    if found is None:
        raise NotFound
    return found, access.site_for(person, found.batch.site_id, roles)


def hold_for(person: Person, uid: UUID, roles: Iterable[str]) -> tuple[HoldRow, Site]:
    """A hold, with the site of its batch, if this person may do this there."""
    found = HoldRow.objects.filter(fact=uid).select_related("batch").first()
    if found is None:
        raise NotFound
    return found, access.site_for(person, found.batch.site_id, roles)


def presumed_of(missing: UUID) -> int:
    """How many of those missed by this fact are presumed lost now."""
    rows = Loss.objects.filter(of=missing, presumed=True)
    return rows.aggregate(n=Sum("count"))["n"] or 0


def losses_shown(told: Iterable[Mapping[str, Any]], zone: ZoneInfo) -> list[dict[str, Any]]:
    """Losses as they were told, each with whether it fits the record. One query."""
    lines = list(told)
    parked = set(
        Parked.objects.filter(fact__in=[line["uid"] for line in lines]).values_list(
            "fact", flat=True
        )
    )
    return [
        {
            **line,
            **timed("found_at", line["found_at"], zone),
            **timed("last_seen_at", line["last_seen_at"], zone),
            "parked": line["uid"] in parked,
        }
        for line in lines
    ]


def missing_shown(uid: UUID) -> dict[str, Any] | None:
    """Missing animals as they stand now; None where the report is parked."""
    row = Missing.objects.filter(fact=uid).first()
    if row is None:
        return None
    return {
        "uid": str(row.fact),
        "batch": str(row.batch_id),
        "container": str(row.container_id),
        "count": row.count,
        "open": row.open,
        "presumed": presumed_of(row.fact),
        "at": row.at,
    }


def hold_shown(uid: UUID) -> dict[str, Any] | None:
    row = HoldRow.objects.filter(fact=uid).first()
    if row is None:
        return None
    return {
        "uid": str(row.fact),
        "batch": str(row.batch_id),
        "why": row.why,
        "at": row.at,
        "lifted_at": row.lifted_at,
    }


def dispatch_shown(uid: UUID) -> dict[str, Any] | None:
    row = Dispatch.read(uid=uid)
    if row is None:
        return None
    return {
        "uid": str(row.uid),
        "batch": str(row.batch_id),
        "count": row.count,
        "returned": row.returned,
        "certificate": row.certificate and str(row.certificate),
        "to_site": row.to_site_id and str(row.to_site_id),
        "at": row.at,
    }
