"""Makers: what a test is not about, made through the doors with careful defaults."""

import itertools
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from protocols.intake import BoxCounted
from protocols.values import Insist, Standing
from stock.answers import Answered
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.door import Asking
from stock.doors.intake import LineAsked, count_line, enter_consignment
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.people import NewPerson, Place, add_person, make_organisation
from stock.doors.suppliers import make_species, make_supplier
from stock.doors.things import SORTS, make_thing
from stock.models import Person, Site, StayRow

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
    given.setdefault("key", f"make-{next(numbers)}")
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


def make_line(shop: Shop, received: int = 20, doa: int = 0, at: datetime = START) -> UUID:
    """A line of a small delivery, counted out of its bags."""
    species = make_species(
        asking(shop.manager, at),
        body={
            "scientific_name": f"Amphiprion {next(numbers)}",
            "groups": [],
            "trade_names": [],
        },
    )
    supplier = make_supplier(
        asking(shop.manager, at), name=f"Atoll {next(numbers)}", settings={}
    )
    line = LineAsked(listed=received, species=UUID(str(species.body["species"]["uid"])))
    made = enter_consignment(
        asking(shop.manager, at),
        site=shop.site,
        supplier=UUID(str(supplier.body["supplier"]["uid"])),
        waybill=None,
        lines=[line],
    )
    uid = UUID(str(made.body["consignment"]["lines"][0]["uid"]))
    count_line(asking(shop.manager, at), uid=uid, count=BoxCounted(None, received, doa))
    return uid


def make_batch(
    shop: Shop,
    count: int = 20,
    *,
    container: UUID | None = None,
    kit: UUID | None = None,
    at: datetime = START,
    protocol: str = "transfer-288@1",
    **given: Any,
) -> UUID:
    """So many placed, as happened: what was not ready is a deviation, not a refusal."""
    n = next(numbers)
    place = PlaceAsked(
        sources=((make_line(shop, count, at=at), count),),
        container=container or make_container(shop, f"C-{n}"),
        kit=kit or make(shop, "kits", f"K-{n}", needs=[]),
        counts=(count,),
        protocol=protocol,
    )
    given.setdefault("standing", Standing.HAPPENED)
    made = place_batch(
        asking(shop.manager, at, **given), site=Site.objects.get(uid=shop.site), asked=place
    )
    return UUID(made.body["batch"]["uid"])


def move(
    shop: Shop,
    batch: UUID,
    counts: tuple[int, ...],
    *,
    at: datetime,
    container: UUID | None = None,
    kit: UUID | None = None,
    missing: int = 0,
    **given: Any,
) -> Answered:
    """The batch moved, as happened unless said otherwise."""
    n = next(numbers)
    stay = StayRow.objects.get(batch=batch, ended_latest=None)
    asked = MoveAsked(
        batch=batch,
        ended_stay=stay.uid,
        container=container or make_container(shop, f"C-{n}"),
        kit=kit or make(shop, "kits", f"K-{n}", needs=[]),
        counts=counts,
        missing=missing,
    )
    given.setdefault("standing", Standing.HAPPENED)
    site = Site.objects.get(uid=shop.site)
    return move_batch(asking(shop.manager, at, **given), site=site, asked=asked)
