"""Which browser is which tablet, and who works with it."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from stock.models import Device, Person, Role
from stock.models import Tablet as TabletRow
from stock.queries.people import token_digest


@dataclass(frozen=True, slots=True)
class Tablet:
    """An enrolled browser; `owner` is None for one that everybody shares."""

    uid: UUID
    site: UUID
    label: str
    owner: UUID | None = None


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A tablet as a manager sees it among the others."""

    uid: UUID
    label: str
    owner: str
    enrolled_by: str
    enrolled_at: datetime
    ended_at: datetime | None
    version: int


def tablet_of_secret(secret: str) -> Tablet | None:
    """The tablet whose browser shows this secret, unless it was ended. One query."""
    browser = TabletRow.objects.filter(device=OuterRef("uid"), digest=token_digest(secret))
    known = Device.objects.annotate(browser=Subquery(browser.values("digest")))
    rows = known.annotate(owner=Subquery(browser.values("owner")))
    found = rows.filter(browser__isnull=False, ended_at=None).first()
    if found is None:
        return None
    return Tablet(found.uid, found.site_id, found.label, found.owner)


def tablets_of(site: UUID) -> list[Enrolled]:
    """The enrolled browsers of a site by label, ended ones too. Two queries."""
    devices = {one.uid: one for one in Device.objects.filter(site=site)}
    rows = TabletRow.objects.select_related("owner", "enrolled_by").filter(device__in=devices)
    found = [_enrolled(row, devices[row.device]) for row in rows]
    return sorted(found, key=lambda one: one.label)


def works_with(tablet: Tablet) -> QuerySet[Person]:
    """Who may sign in there: whose it is, else everybody with a role at its site, by name."""
    here = Role.objects.filter(site=tablet.site).values("person")
    people = Person.objects.filter(uid__in=here, is_active=True).order_by("name", "uid")
    return people if tablet.owner is None else people.filter(uid=tablet.owner)


def _enrolled(row: TabletRow, device: Device) -> Enrolled:
    return Enrolled(
        uid=device.uid,
        label=device.label,
        owner=row.owner.name if row.owner else "",
        enrolled_by=row.enrolled_by.name,
        enrolled_at=row.enrolled_at,
        ended_at=device.ended_at,
        version=device.version,
    )
