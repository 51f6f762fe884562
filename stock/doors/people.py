"""The first organisation, its sites and people, and the tokens of programs."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.db import transaction

from protocols.clocks import utc_text
from protocols.kinds.places import ROLES
from protocols.proofs import Proof
from protocols.values import Standing
from stock import access, clock, ledger, names
from stock.answers import Answered
from stock.apply import apply
from stock.doors.door import Asking, Door, enter
from stock.ledger import Envelope, Told
from stock.models import Log, Organisation, Person, SetupCode, Token
from stock.queries.people import token_digest
from stock.refusals import NotFound, Refused, refuse

TOKEN_LASTS = timedelta(days=90)  # longer than any course of animals


@dataclass(frozen=True, slots=True)
class NewPerson:
    name: str
    email: str
    password: str


@dataclass(frozen=True, slots=True)
class Place:
    """A site to be: its name and IANA time zone."""

    name: str
    zone: str


def make_setup_code(at: datetime) -> str:
    """A new one-time code for the first organisation; older ones stop working."""
    code = secrets.token_urlsafe(12)
    with transaction.atomic():
        SetupCode.objects.all().delete()
        SetupCode.objects.create(digest=token_digest(code), made_at=at)
    return code


@transaction.atomic
def make_first_organisation(
    *, name: str, person: NewPerson, site: Place, setup_code: str
) -> Answered:
    """The first organisation with its first site and manager; only while there is none."""
    used = SetupCode.objects.filter(digest=token_digest(setup_code)).delete()[0]
    if Organisation.objects.exists() or not used:
        raise Refused(refuse("wrong_role", "This set-up code does not open anything."))
    at = clock.now()
    return make_organisation(name=name, person=person, site=site, at=at)


@transaction.atomic
def make_organisation(*, name: str, person: NewPerson, site: Place, at: datetime) -> Answered:
    """An organisation with one site and one manager: the facts that open two record books."""
    organisation, first_site = names.new_uid(at), names.new_uid(at)
    manager = _make_person(organisation, person, at)
    log = Log.objects.create(uid=organisation, organisation=organisation)
    site_log = Log.objects.create(uid=first_site, organisation=organisation)
    clock.advance(organisation, at)
    roles = [{"site": str(first_site), "role": "manager"}]
    told = (
        (log, Told("organisation_set", {"name": name})),
        (site_log, Told("site_set", {"name": site.name, "zone": site.zone})),
        (log, Told("person_set", {"person": str(manager.uid), "roles": roles})),
    )
    envelope = _founding(manager, at)
    for book, one in told:
        apply(ledger.append(book, envelope, one))
    body = {
        "organisation": {"uid": str(organisation), "name": name},
        "site": {"uid": str(first_site), "name": site.name, "zone": site.zone},
        "person": {"uid": str(manager.uid), "name": manager.name},
        "token": new_token(manager, at, Proof.PASSWORD),
    }
    return Answered(201, body)


def add_site(asking: Asking, *, place: Place) -> Answered:
    """Another site of the organisation; whoever adds it becomes its manager."""
    organisation = access.organisation_for(asking.person, access.MANAGERS)
    uid = asking.new_uid()

    def open_book(log: Log) -> Log:
        return Log.objects.create(uid=uid, organisation=log.organisation)

    def tell(book: Log) -> Sequence[Told]:
        site_set = Told("site_set", {"name": place.name, "zone": place.zone})
        apply(ledger.append(book, _founding(asking.person, asking.now), site_set))
        roles = [*_roles_of(asking.person), {"site": str(uid), "role": "manager"}]
        return (Told("person_set", {"person": str(asking.person.uid), "roles": roles}),)

    return enter(
        asking,
        organisation.uid,
        Door(
            load=open_book,
            ask=lambda book: (),
            tell=tell,
            show=lambda book: {
                "site": {"uid": str(uid), "name": place.name, "zone": place.zone}
            },
        ),
    )


def add_person(
    asking: Asking, *, person: NewPerson, roles: Sequence[Mapping[str, Any]]
) -> Answered:
    """A new person with roles at sites that the asker manages."""
    organisation = access.organisation_for(asking.person, access.MANAGERS)
    _may_give(asking.person, roles)
    uid = asking.new_uid()
    return enter(
        asking,
        organisation.uid,
        Door(
            load=lambda log: Person.objects.filter(email=person.email.lower()).exists(),
            ask=lambda known: (
                [
                    refuse(
                        "email_taken", "Somebody signs in with this address.", pointer="/email"
                    )
                ]
                if known
                else []
            ),
            tell=lambda known: (
                _person_set(
                    _make_person(organisation.uid, person, asking.now, uid=uid).uid, roles, None
                ),
            ),
            show=lambda known: shown_person(uid),
        ),
    )


def change_person(
    asking: Asking,
    *,
    uid: UUID,
    roles: Sequence[Mapping[str, Any]],
    ended_at: datetime | None,
) -> Answered:
    """Other roles for a person, or the end of them all.

    Whoever changes what somebody may do at a site manages it. Nobody ends their own account or
    stops managing by themselves: there would be nobody to undo it.
    """
    organisation = access.organisation_for(asking.person, access.MANAGERS)
    person = Person.objects.filter(uid=uid, organisation=organisation.uid).first()
    if person is None:
        raise NotFound
    held = _roles_of(person)
    _may_give(asking.person, roles, held=held, ended=ended_at is not None)
    if uid == asking.person.uid and _stops_managing(held, roles, ended_at):
        text = "Somebody else has to end this: you would be shut out by yourself."
        raise Refused(refuse("own_action", text, pointer="/roles"))

    def tell(_: None) -> Sequence[Told]:
        if ended_at is not None:
            Token.objects.filter(person=person).delete()
            Person.objects.filter(uid=uid).update(is_active=False, pin="", second_factor="")
        return (_person_set(uid, roles, ended_at),)

    return enter(
        asking,
        organisation.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=tell,
            show=lambda _: shown_person(uid),
        ),
    )


def shown_person(uid: UUID) -> dict[str, Any]:
    person = Person.objects.get(uid=uid)
    return {"person": {"uid": str(uid), "name": person.name}, "roles": _roles_of(person)}


def _roles_of(person: Person) -> list[dict[str, str]]:
    rows = person.roles.order_by("site", "role").values_list("site", "role")
    return [{"site": str(site), "role": role} for site, role in rows]


def _may_give(
    giver: Person,
    roles: Sequence[Mapping[str, Any]],
    *,
    held: Sequence[Mapping[str, Any]] = (),
    ended: bool = False,
) -> None:
    """Roles are given and taken only at sites that the giver manages; another is not there."""
    before = {(str(one["site"]), one["role"]) for one in held}
    after = set() if ended else {(str(one["site"]), one["role"]) for one in roles}
    for site, role in sorted(before ^ after):
        access.site_for(giver, UUID(site), access.MANAGERS)
        if role not in ROLES:
            raise Refused(refuse("unreadable", "There is no such role.", pointer="/roles"))


def _stops_managing(
    held: Sequence[Mapping[str, Any]],
    roles: Sequence[Mapping[str, Any]],
    ended_at: datetime | None,
) -> bool:
    kept = {str(one["site"]) for one in roles if one["role"] == "manager"}
    return ended_at is not None or any(
        one["role"] == "manager" and str(one["site"]) not in kept for one in held
    )


def _person_set(
    uid: UUID, roles: Sequence[Mapping[str, Any]], ended_at: datetime | None
) -> Told:
    body: dict[str, Any] = {
        "person": str(uid),
        "roles": [{"site": str(one["site"]), "role": one["role"]} for one in roles],
    }
    if ended_at is not None:
        body["ended_at"] = utc_text(ended_at)
    return Told("person_set", body)


def _make_person(
    organisation: UUID, person: NewPerson, at: datetime, *, uid: UUID | None = None
) -> Person:
    return Person.objects.create(
        uid=uid or names.new_uid(at),
        organisation=organisation,
        email=person.email.lower(),
        name=person.name,
        password=make_password(person.password),
    )


def _founding(person: Person, at: datetime) -> Envelope:
    return Envelope(
        doer=person.uid,
        messenger=person.uid,
        performed_at=at,
        offset_min=0,
        recorded_at=at,
        standing=Standing.ASKED,
        group=names.new_uid(at),
    )


def new_token(person: Person, at: datetime, proof: Proof) -> str:
    """A sign-in for a program, told once; only its digest is kept."""
    text = secrets.token_urlsafe(32)
    Token.objects.create(
        digest=token_digest(text), person=person, expires_at=at + TOKEN_LASTS, proof=proof.value
    )
    return text
