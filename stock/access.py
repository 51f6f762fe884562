"""Who may see and do what. A foreign thing is not found, exactly like one that is not there."""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import QuerySet

from protocols.proofs import WEIGHTY, Proof, is_enough, is_weighty
from stock import clock
from stock.models import (
    Batch,
    Certificate,
    FactSubject,
    Log,
    Make,
    Organisation,
    Parked,
    Person,
    Role,
    Site,
)
from stock.models.base import Thing
from stock.queries.sites import rules_of_sites
from stock.refusals import NotFound, Refused, refuse

__all__ = [
    "DECIDERS",
    "EVERYBODY",
    "HANDS",
    "MANAGERS",
    "READERS",
    "WEIGHTY",
    "Person",
    "Site",
    "batch_for",
    "certificate_for",
    "export_from",
    "insists_as",
    "is_spoken_of",
    "log_for",
    "make_for",
    "organisation_for",
    "roles_at",
    "roles_of",
    "site_for",
    "site_of_batch",
    "sites_of",
    "thing_for",
]

EVERYBODY = frozenset({"keeper", "manager", "veterinarian", "auditor"})
HANDS = frozenset({"keeper", "manager", "veterinarian"})
MANAGERS = frozenset({"manager"})
DECIDERS = frozenset({"manager", "veterinarian"})
# Who reads the record book as a whole, and what it says of people.
READERS = frozenset({"manager", "auditor", "veterinarian"})

T = TypeVar("T", bound=Thing)


def roles_at(person: Person, site: UUID) -> frozenset[str]:
    return frozenset(
        Role.objects.filter(person=person, site=site).values_list("role", flat=True)
    )


def sites_of(person: Person) -> QuerySet[Site]:
    """The sites this person has any role at: the source of every list."""
    return Site.objects.filter(roles__person=person).distinct()


def site_for(person: Person, site: UUID, roles: Iterable[str] = EVERYBODY) -> Site:
    """The site, if this person may do this there; else not found, or the wrong role."""
    held = roles_at(person, site)
    if not held:
        raise NotFound
    if not held & frozenset(roles):
        raise Refused(
            refuse("wrong_role", "Your role does not allow this.", needs=sorted(roles))
        )
    if is_weighty(roles):
        _prove(person, site)
    return Site.objects.get(uid=site)


def export_from(person: Person, site: UUID) -> Site:
    """The site, if this person may take its records away."""
    found = site_for(person, site, READERS)
    _prove(person, site)
    return found


def insists_as(person: Person, site: UUID) -> frozenset[str]:
    """The roles in which the person may set a rule aside there: by PIN code as hands alone."""
    held = roles_at(person, site)
    return held - WEIGHTY if is_enough(person.proof, needed=False) else held


def _prove(person: Person, *sites: UUID) -> None:
    """Refuse what is weighty to a sign-in that is not enough for it at one of these sites."""
    if person.proof is Proof.SECOND_FACTOR:
        return
    at = clock.now(sites[0] if len(sites) == 1 else None)
    rules = rules_of_sites(sites).values()
    needed = any(one.at(at).second_factor_needed for one in rules)
    if stands := is_enough(person.proof, needed=needed):
        raise Refused(*stands)


def thing_for(
    person: Person, kind: type[T], uid: UUID, roles: Iterable[str] = EVERYBODY
) -> tuple[T, Site]:
    """A thing that belongs to a site, with its site, if this person may see or do this."""
    found = kind.read(uid=uid)
    if found is None:
        raise NotFound
    site: UUID = found.site_id  # type: ignore[attr-defined]  # so does every such thing
    return found, site_for(person, site, roles)


def batch_for(
    person: Person, uid: UUID, roles: Iterable[str] = EVERYBODY
) -> tuple[Batch, Site]:
    """A batch, with its site."""
    return thing_for(person, Batch, uid, roles)


def site_of_batch(person: Person, uid: UUID, roles: Iterable[str] = EVERYBODY) -> Site:
    """The site of a batch, or of the reports that wait and speak of one by this name."""
    batch = Batch.read(uid=uid)
    if batch is not None:
        return site_for(person, batch.site_id, roles)
    waiting = Parked.objects.filter(fact__subjects__subject=uid, settled_by=None)
    site = waiting.values_list("site", flat=True).first()
    if site is None:
        raise NotFound
    return site_for(person, site, roles)


def is_spoken_of(site: UUID, *uids: UUID) -> bool:
    """Whether reports of this site speak of all of these, known or waiting."""
    told = FactSubject.objects.filter(fact__log=site, subject__in=uids)
    return told.values("subject").distinct().count() == len(set(uids))


def people_are_ours(site: Site, people: Iterable[UUID]) -> None:
    """Raises NotFound where one of these is of no organisation or another one than the site.

    One query, none for nobody. Whoever has left since did what they did all the same.
    """
    wanted = set(people)
    ours = Person.objects.filter(uid__in=wanted, organisation=site.organisation_id)
    if wanted and ours.count() < len(wanted):
        raise NotFound


def certificate_for(
    person: Person, uid: UUID, roles: Iterable[str] = EVERYBODY
) -> tuple[Certificate, Site]:
    """A certificate, with the site that issued it."""
    return thing_for(person, Certificate, uid, roles)


def make_for(person: Person, uid: UUID, roles: Iterable[str] = EVERYBODY) -> tuple[Make, Site]:
    """A make of water, with its site."""
    return thing_for(person, Make, uid, roles)


def roles_of(person: Person) -> frozenset[str]:
    """Every role the person holds at any site of their organisation."""
    held = Role.objects.filter(person=person, site__organisation=person.organisation)
    return frozenset(held.values_list("role", flat=True))


def organisation_for(person: Person, roles: Iterable[str] = EVERYBODY) -> Organisation:
    """The person's organisation, if they hold one of the roles at any of its sites."""
    held = roles_of(person)
    if not held:
        raise NotFound
    if not held & frozenset(roles):
        raise Refused(
            refuse("wrong_role", "Your role does not allow this.", needs=sorted(roles))
        )
    if is_weighty(roles):
        _prove(person, *sites_of(person).values_list("uid", flat=True))
    return Organisation.objects.get(uid=person.organisation)


def log_for(person: Person, log: UUID) -> Log:
    """A record book that this person may read."""
    if log == person.organisation:
        organisation_for(person)
    else:
        site_for(person, log)
    return Log.objects.get(uid=log)
