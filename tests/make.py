"""Makers: what a test is not about, made through the doors with careful defaults."""

import itertools
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from protocols.values import Insist, Standing
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.people import NewPerson, Place, add_person, make_organisation
from stock.doors.things import SORTS, make_thing
from stock.models import Person

numbers = itertools.count(1)

# A Monday morning; every story starts here unless it says otherwise.
START = datetime(2027, 1, 4, 8, 0, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Shop:
    """An organisation with one site and the small cast that every test shares."""

    organisation: UUID
    site: UUID
    manager: Person


def asking(person: Person, at: datetime = START, **given: Any) -> Asking:
    """A request of this person under a key of its own."""
    given.setdefault("key", f"key-{next(numbers)}")
    given.setdefault("question", given["key"])
    given.setdefault("performed_at", at)
    given.setdefault("standing", Standing.ASKED)
    insist = tuple(Insist(rule, "test") for rule in given.pop("insist", ()))
    return Asking(person=person, now=at, insist=insist, **given)


def make_shop(zone: str = "Europe/Berlin", at: datetime = START) -> Shop:
    n = next(numbers)
    boss = NewPerson("Mara", f"mara-{n}@example.org", "correct horse")
    made = make_organisation(name=f"Shop {n}", person=boss, site=Place("Hall", zone), at=at)
    return Shop(
        organisation=UUID(made.body["organisation"]["uid"]),
        site=UUID(made.body["site"]["uid"]),
        manager=Person.objects.get(uid=made.body["person"]["uid"]),
    )


def make_person(shop: Shop, name: str, role: str, at: datetime = START) -> Person:
    """One more person with one role at the shop's site."""
    person = NewPerson(name, f"{name.lower()}-{next(numbers)}@example.org", "correct horse")
    made = add_person(
        asking(shop.manager, at), person=person, roles=[{"site": shop.site, "role": role}]
    )
    return Person.objects.get(uid=made.body["person"]["uid"])


def make(shop: Shop, sort: str, label: str, at: datetime = START, **body: Any) -> UUID:
    """A room, rack, container, kit, piece or instrument; its uid."""
    answer: Answered = make_thing(
        asking(shop.manager, at),
        site=shop.site,
        sort=SORTS[sort],
        body={"label": label, **body},
    )
    return UUID(str(answer.body[SORTS[sort].name]["uid"]))


def make_container(shop: Shop, label: str = "R1-01", *, rack: UUID | None = None) -> UUID:
    rack = rack or make_rack(shop, f"rack for {label}")
    return make(
        shop,
        "containers",
        label,
        rack=str(rack),
        x_m="0",
        y_m="0",
        z_m="0",
        inside_m={"length": "0.5", "width": "0.4", "height": "0.4"},
        shape="box",
        fill_mark_l="60",
        lid=True,
        air_stone=True,
        in_use=True,
    )


def make_rack(shop: Shop, label: str = "Rack 1") -> UUID:
    room = make(shop, "rooms", f"room of {label}", light_on="08:00", light_off="20:00")
    return make(shop, "racks", label, room=str(room), x_m="0", y_m="0")
