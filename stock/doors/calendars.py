"""The secret address of somebody's calendar at a site. Theirs alone, so no fact."""

import secrets
from datetime import datetime
from uuid import UUID

from stock import access
from stock.models import CalendarAddress, Person
from stock.queries.calendar import digest_of

SECRET_BYTES = 20  # 160 bits


def make_calendar(person: Person, *, site: UUID, now: datetime) -> str:
    """A new secret word for the address; an older one is worth nothing from now on.

    Only its digest is kept, so it is shown once.
    """
    access.site_for(person, site)
    token = secrets.token_urlsafe(SECRET_BYTES)
    CalendarAddress.objects.update_or_create(
        person=person, site_id=site, defaults={"digest": digest_of(token), "made_at": now}
    )
    return token


def end_calendar(person: Person, *, site: UUID) -> None:
    """No calendar at this site any more."""
    access.site_for(person, site)
    CalendarAddress.objects.filter(person=person, site=site).delete()
