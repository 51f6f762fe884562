"""Who works at a site, as its managers see them."""

from collections import defaultdict
from dataclasses import dataclass
from uuid import UUID

from stock.models import Person, Role


@dataclass(frozen=True, slots=True)
class Colleague:
    """Somebody with a role at a site, and how they sign in; `elsewhere` are other roles."""

    uid: UUID
    name: str
    email: str
    roles: tuple[str, ...]
    elsewhere: tuple[tuple[UUID, str], ...]
    pin: bool
    first_pin: bool  # given by somebody, not changed yet
    second_factor: bool


def colleagues(site: UUID, *, person: UUID | None = None) -> list[Colleague]:
    """Everybody with a role at a site, by name; or only this one. Two queries."""
    here = Role.objects.filter(site=site).values("person")
    people = Person.objects.filter(uid__in=here, is_active=True).order_by("name", "uid")
    if person is not None:
        people = people.filter(uid=person)
    found = list(people)
    held: dict[UUID, list[tuple[UUID, str]]] = defaultdict(list)
    for row in Role.objects.filter(person__in=found).order_by("role"):
        held[row.person_id].append((row.site_id, row.role))
    return [_seen(one, held[one.uid], site) for one in found]


def _seen(person: Person, held: list[tuple[UUID, str]], site: UUID) -> Colleague:
    return Colleague(
        uid=person.uid,
        name=person.name,
        email=person.email,
        roles=tuple(role for at, role in held if at == site),
        elsewhere=tuple(one for one in held if one[0] != site),
        pin=bool(person.pin),
        first_pin=person.pin_to_change,
        second_factor=bool(person.second_factor),
    )
