"""What the pages of unpacking read: one consignment, one line, what is left to be placed."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Subquery

from stock.models import Balance, Consignment, Line
from stock.queries.intake import consignment_shown
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class LineSeen:
    """A line with its consignment; `boxes` are the names on the papers."""

    uid: UUID
    site: UUID
    consignment: UUID
    supplier: str
    text: str
    species: str | None
    boxes: tuple[str, ...]


def consignment_seen(uid: UUID, at: datetime) -> dict[str, Any]:
    """One consignment as it is shown. Four queries. Raises NotFound."""
    try:
        return consignment_shown(uid, at)
    except Consignment.DoesNotExist as error:
        raise NotFound from error


def site_of_consignment(uid: UUID) -> UUID:
    """Where a consignment belongs. One query. Raises NotFound."""
    site = Consignment.objects.filter(uid=uid).values_list("site", flat=True).first()
    if site is None:
        raise NotFound
    return site


def line_seen(uid: UUID) -> LineSeen:
    """One line, to be counted. One query. Raises NotFound."""
    rows = Line.objects.select_related("consignment__supplier", "species")
    line = rows.filter(uid=uid).first()
    if line is None:
        raise NotFound
    boxes = [str(one["box"]) for one in line.boxes or ()] or [line.box or ""]
    return LineSeen(
        uid=line.uid,
        site=line.consignment.site_id,
        consignment=line.consignment_id,
        supplier=line.consignment.supplier.name,
        text=line.text,
        species=line.species.scientific_name if line.species else None,
        boxes=tuple(box for box in boxes if box),
    )


@dataclass(frozen=True, slots=True)
class Left:
    """So many of a line, alive in their bags, to be placed."""

    line: UUID
    site: UUID
    name: str
    box: str | None
    count: int


def left_to_place(consignment: UUID) -> list[Left]:
    """The lines of a consignment that still hold animals. One query."""
    held = Balance.objects.filter(holder=OuterRef("uid"), place="received")
    rows = Line.objects.filter(consignment=consignment).select_related("species", "consignment")
    found = rows.annotate(held=Subquery(held.values("n")[:1])).filter(held__gt=0).order_by("n")
    return [
        Left(
            line=row.uid,
            site=row.consignment.site_id,
            name=row.species.scientific_name if row.species else row.text,
            box=row.box,
            count=row.held,
        )
        for row in found
    ]
