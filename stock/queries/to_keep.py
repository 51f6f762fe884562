"""What a tablet keeps for the time without network: who is in which container. Two queries."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import F

from stock.models import Log, Room, StayRow

MOST = 200


@dataclass(frozen=True, slots=True)
class Kept:
    """A batch where it is; `limit` is that of its stay, None while it is observed."""

    batch: UUID
    container: UUID
    limit: datetime | None


def stays_to_keep(site: UUID) -> list[Kept]:
    """The open stays of a site, the nearest limit first, at most MOST. One query."""
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    rows = rows.order_by(F("batch__limit").asc(nulls_last=True), "uid")
    return [Kept(*row) for row in rows.values_list("batch", "container", "batch__limit")[:MOST]]


def rooms_to_keep(site: UUID) -> list[UUID]:
    return list(Room.objects.filter(site=site).order_by("label").values_list("uid", flat=True))


def size_of_record(site: UUID) -> int:
    """How many entries the site's record book has: each new one may change pages."""
    return Log.objects.filter(uid=site).values_list("size", flat=True).first() or 0
