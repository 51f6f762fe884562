"""What can be chosen where people tell of contacts, incidents and rounds."""

from dataclasses import dataclass
from uuid import UUID

from stock.models import Container, Person, Piece, StayRow


@dataclass(frozen=True, slots=True)
class Place:
    """A container, and the batch that is in it."""

    uid: UUID
    label: str
    room: UUID
    room_label: str
    code: str | None


def places_of(site: UUID) -> tuple[Place, ...]:
    """Every container in use, by room and label. Two queries."""
    stays = StayRow.objects.filter(container__site=site, ended_latest=None)
    codes = dict(stays.values_list("container", "batch__code"))
    rows = Container.objects.filter(site=site, in_use=True)
    named = rows.values_list("uid", "label", "rack__room", "rack__room__label")
    return tuple(
        Place(uid, label, room, room_label, codes.get(uid))
        for uid, label, room, room_label in named.order_by("rack__room__label", "label")
    )


def tools_of(site: UUID) -> tuple[tuple[UUID, str], ...]:
    """Every piece that may have been carried from one to the other. One query."""
    rows = Piece.objects.filter(site=site, defective=False).order_by("label")
    return tuple(rows.values_list("uid", "label"))


def hands_of(site: UUID) -> tuple[tuple[UUID, str], ...]:
    """Whoever works at the site. One query."""
    rows = Person.objects.filter(roles__site=site, is_active=True).distinct()
    return tuple(rows.order_by("name").values_list("uid", "name"))
