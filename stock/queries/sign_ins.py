"""Who is signed in, at which sites, with which roles. One query, for every page."""

from dataclasses import dataclass
from uuid import UUID

from stock.models import Organisation, Person, Role, Site


@dataclass(frozen=True, slots=True)
class Held:
    """The roles that somebody holds at one site."""

    site: Site
    roles: frozenset[str]


def signed_in(uid: UUID) -> Person | None:
    """The active person of a session, with everything they hold. One query, two for nothing."""
    rows = Role.objects.select_related("person", "site")
    found = list(rows.filter(person=uid, person__is_active=True).order_by("site__name", "site"))
    if not found:
        return Person.objects.filter(uid=uid, is_active=True).first()
    person = found[0].person
    person.__dict__["held_at"] = _held(found)
    return person


def held_by(person: Person) -> tuple[Held, ...]:
    """Where this person holds roles, by the name of the site. No query after `signed_in`."""
    # Not from __dict__: whoever is signed in comes wrapped, until somebody looks.
    known: tuple[Held, ...] | None = getattr(person, "held_at", None)
    if known is not None:
        return known
    rows = Role.objects.select_related("site").filter(person=person)
    return _held(list(rows.order_by("site__name", "site")))


def is_set_up() -> bool:
    """Whether there is an organisation at all. One query."""
    return Organisation.objects.exists()


def _held(rows: list[Role]) -> tuple[Held, ...]:
    sites = {row.site_id: row.site for row in rows}
    roles: dict[UUID, set[str]] = {uid: set() for uid in sites}
    for row in rows:
        roles[row.site_id].add(row.role)
    return tuple(Held(site, frozenset(roles[uid])) for uid, site in sites.items())
