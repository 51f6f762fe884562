"""The limits of a site for a calendar, found by the secret address of one person."""

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from protocols.reconciling import OPEN_STATES
from stock.models import CalendarAddress, Container, Person, Role, Room, Task

MOST = 500


@dataclass(frozen=True, slots=True)
class Limit:
    """An open piece of work and the moment by which it is to be done."""

    task: UUID
    what: str
    place: str
    room: str
    limit: datetime
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Feed:
    site: str
    language: str
    limits: tuple[Limit, ...]


def feed_of(token: str) -> Feed | None:
    """What stands in the calendar at this address; None where there is none, or where its
    person does not work at the site any more. Five queries at most."""
    found = (
        CalendarAddress.objects.filter(digest=digest_of(token))
        .select_related("site", "person")
        .first()
    )
    if found is None or not Role.objects.filter(person=found.person, site=found.site).exists():
        return None
    return Feed(found.site.name, found.person.language, tuple(_limits(found.site_id)))


def has_calendar(person: Person, site: UUID) -> datetime | None:
    """Since when somebody has such an address; None for none. One query."""
    rows = CalendarAddress.objects.filter(person=person, site=site)
    found: datetime | None = rows.values_list("made_at", flat=True).first()
    return found


def digest_of(token: str) -> str:
    """What is kept of an address."""
    return sha256(token.encode()).hexdigest()


def _limits(site: UUID) -> list[Limit]:
    states = [one.value for one in OPEN_STATES]
    rows = list(
        Task.objects.filter(site=site, state__in=states, limit__isnull=False)
        .order_by("limit", "uid")
        .only("uid", "what", "container", "room", "limit", "made_at")[:MOST]
    )
    containers = {
        row.uid: (row.label, row.rack.room.label)
        for row in Container.objects.filter(
            uid__in=[one.container for one in rows if one.container]
        ).select_related("rack__room")
    }
    rooms = dict(
        Room.objects.filter(uid__in=[one.room for one in rows if one.room]).values_list(
            "uid", "label"
        )
    )
    found = []
    for row in rows:
        nowhere = ("", rooms.get(row.room, "") if row.room else "")
        place, room = containers.get(row.container, nowhere) if row.container else nowhere
        assert row.limit is not None
        found.append(Limit(row.uid, row.what, place, room, row.limit, row.made_at))
    return found
