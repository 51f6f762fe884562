"""Rooms to be looked through and deliveries to be claimed for, as far as work follows."""

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Subquery

from protocols.deadlines import claim_deadlines
from protocols.tasks import ClaimWork, RoomWork
from stock.models import Consignment, Fact, Room, StayRow
from stock.queries.intake import lines_shown

# Suppliers take no claim any more after so long, whatever their terms say.
CLAIMS_FOR = timedelta(days=30)


def rooms_known(site: UUID, at: datetime) -> tuple[RoomWork, ...]:
    """Rooms with animals in them: their last round, or the first placement. One query."""
    stays = StayRow.objects.filter(container__rack__room=OuterRef("uid"))
    first = stays.order_by("began_earliest", "uid")
    rounds = Fact.objects.filter(
        log=site,
        kind="round_made",
        performed_at__lte=at,
        subjects__subject=OuterRef("uid"),
        parked=None,
    ).order_by("-performed_at", "-seq")
    rows = Room.objects.filter(Exists(stays.filter(ended_latest=None)), site=site).annotate(
        round=Subquery(rounds.values("uid")[:1]),
        round_at=Subquery(rounds.values("performed_at")[:1]),
        placed=Subquery(first.values("began_by")[:1]),
        placed_at=Subquery(first.values("began_earliest")[:1]),
    )
    return tuple(
        RoomWork(uid, made or placed, made_at or placed_at)
        for uid, made, made_at, placed, placed_at in rows.values_list(
            "uid", "round", "round_at", "placed", "placed_at"
        )
    )


def claims_known(
    site: UUID, at: datetime, *, only: Collection[UUID] | None = None
) -> tuple[ClaimWork, ...]:
    """Deliveries with dead or missing animals that a claim can be made for. Four queries."""
    sent = Fact.objects.filter(kind="claim_sent", subjects__subject=OuterRef("uid"))
    rows = Consignment.objects.filter(
        ~Exists(sent), site=site, delivered_at__gt=at - CLAIMS_FOR, delivered_at__lte=at
    )
    if only is not None:
        rows = rows.filter(uid__in=only)
    found = [one for one in rows.select_related("supplier") if one.supplier.claim_terms]
    lines = lines_shown([one.uid for one in found]) if found else {}
    claims = (_claim(one, lines[one.uid]) for one in found)
    return tuple(one for one in claims if one is not None)


def _claim(consignment: Consignment, lines: list[dict[str, Any]]) -> ClaimWork | None:
    dead = sum(line["doa"] for line in lines)
    short = sum(line["short"] for line in lines)
    kinds = {kind for kind, count in (("doa", dead), ("short", short)) if count}
    terms = consignment.supplier.claim_terms
    known = {kind: terms[kind] for kind in kinds if kind in terms}
    if not known or consignment.delivered_at is None:
        return None
    first = claim_deadlines(consignment.delivered_at, known)[0]
    return ClaimWork(
        consignment=consignment.uid,
        delivered_at=consignment.delivered_at,
        deadline=first.at,
        remind_at=first.remind_at,
        dead=dead,
        short=short,
    )
