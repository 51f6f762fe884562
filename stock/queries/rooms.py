"""Rooms that are closed for people: from when to when, and why."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from stock.models import Container, Room, RoomClosure
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class Closed:
    """A room that nobody is to enter; without `ends` until somebody opens it."""

    room: UUID
    label: str
    begins: datetime
    ends: datetime | None
    why: str


def closed_rooms(site: UUID, at: datetime) -> dict[UUID, Closed]:
    """The rooms of a site that are closed for people at `at`, by room. One query.

    Of several closures of one room the one that ends last.
    """
    rows = RoomClosure.objects.filter(
        Q(ends=None) | Q(ends__gt=at), site=site, begins__lte=at
    ).select_related("room")
    found: dict[UUID, Closed] = {}
    for row in sorted(rows, key=lambda one: (one.ends is None, one.ends or at, one.begins)):
        found[row.room_id] = Closed(row.room_id, row.room.label, row.begins, row.ends, row.why)
    return found


def room_seen(uid: UUID) -> Room:
    """A room by its uid; NotFound where there is none. One query."""
    found = Room.read(uid=uid)
    if found is None:
        raise NotFound
    return found


def rooms_of(site: UUID) -> list[Room]:
    """The rooms of a site by label. One query."""
    return list(Room.objects.filter(site=site).order_by("label"))


def containers_of(rooms: Collection[UUID]) -> frozenset[str]:
    """The containers in these rooms, as text. One query, none for no rooms."""
    if not rooms:
        return frozenset()
    found = Container.objects.filter(rack__room__in=rooms).values_list("uid", flat=True)
    return frozenset(map(str, found))
