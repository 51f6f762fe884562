"""Which pages a tablet keeps for at least 72 hours without network, the most needed first."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import product

from django.urls import reverse

from api.pages.shell import Here
from stock.queries.to_keep import Kept, rooms_to_keep, stays_to_keep

# By the name of the route. A page that somebody needs at a rack is named here.
OF_SITE = ("shift", "room", "kits", "mixing")
FORMS_OF_SITE = (
    *("feed", "hand-over", "disinfect", "see-dry", "find-wet"),
    *("tell-contact", "tell-make", "tell-fill"),
)
IN_A_ROOM = ("make-round", "feed")
OF_BATCH = ("batch",)
FORMS_OF_BATCH = ("loss", "sign", "count-batch", "emergency-move")
FORMS_OF_CONTAINER = ("read-water", "incident")
SOON = timedelta(hours=72)


def pages_of(at: Here) -> list[str]:
    """Addresses for this person at this site. Two queries; at most some 1,500 addresses."""
    return [
        *_of_site(at),
        *(one for kept in stays_to_keep(at.site.uid) for one in _of(kept, at)),
    ]


def _of_site(at: Here) -> Iterator[str]:
    site = at.site.uid
    yield reverse("entries")
    yield from (reverse(name, args=[site]) for name in OF_SITE)
    if not at.works:
        return
    yield from (reverse(name, args=[site]) for name in FORMS_OF_SITE)
    rooms = rooms_to_keep(site)
    yield from (reverse("shift-room", args=[site, room]) for room in rooms)
    for room, name in product(rooms, IN_A_ROOM):
        yield f"{reverse(name, args=[site])}?room={room}"


def _of(kept: Kept, at: Here) -> Iterator[str]:
    """What is told of a batch where it is; the move itself where its limit is near."""
    yield from (reverse(name, args=[kept.batch]) for name in OF_BATCH)
    if at.works:
        if kept.limit is not None and kept.limit - at.now <= SOON:
            yield reverse("move", args=[kept.batch])
        yield from (reverse(name, args=[kept.batch]) for name in FORMS_OF_BATCH)
        yield from (reverse(name, args=[kept.container]) for name in FORMS_OF_CONTAINER)
    yield reverse("container", args=[kept.container])
