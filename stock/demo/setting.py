"""Setting the scene and playing it: an organisation, two sites, a month of work."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from stock.demo import cast
from stock.demo.floor import Floor, asking
from stock.demo.mixing import fill_mixing_room
from stock.demo.play import Stage
from stock.demo.tales import HALL_TALES, SHOP_TALES
from stock.doors.people import NewPerson, Place, add_person, add_site, make_organisation
from stock.doors.suppliers import make_species, make_supplier
from stock.doors.work import complete_task
from stock.judging import bring_up_to_date, judging_later
from stock.models import Person, Task

SPAN = timedelta(days=34)
CLAIMS_OVER = timedelta(days=1)
# Role, address, password.
SignIns = tuple[tuple[str, str, str], ...]
HALL_ROOMS = {
    "Quarantine": (("R1", 8, 0), ("R2", 8, 1), ("R3", 6, 2)),
    "Holding": (("R4", 8, 1), ("R5", 6, 2)),
}
SHOP_ROOMS = {"Back room": (("S1", 4, 1),)}


@dataclass(frozen=True, slots=True)
class Played:
    """Who may sign in with which password, and where certificates are to be seen."""

    sign_ins: SignIns
    certificates: tuple[str, ...]


@transaction.atomic
def play(now: datetime, *, address: str, say: Callable[[str], None]) -> Played:
    """Play the demo so that it ends now. One transaction: all of it or nothing."""
    begin = now - SPAN
    sign_ins = tuple((role, email, secrets.token_urlsafe(9)) for _, email, role in cast.PEOPLE)
    manager, hall, shop = _sites(begin, sign_ins)
    people = _people(manager, (hall, shop), sign_ins, begin)
    species, suppliers = _catalogue(manager, begin)
    certificates: list[str] = []
    with judging_later():
        say("rooms, racks, containers, kits")
        floors = [
            _floor(hall, manager, people, begin, HALL_ROOMS, kits=12),
            _floor(shop, manager, people, begin, SHOP_ROOMS, kits=3),
        ]
        for floor, tales in zip(floors, (HALL_TALES, SHOP_TALES), strict=True):
            say(f"{len(tales)} batches")
            stage = Stage(floor, species, suppliers, now, address=address)
            stage.check_instruments_weekly(begin)
            stage.look_around_daily()
            stage.probe_to_the_end()
            stage.play(tales)
            fill_mixing_room(floor, now)
            certificates += stage.certificates
    bring_up_to_date(now)
    _finish_old_claims(manager, now)
    return Played(sign_ins, tuple(certificates))


def _sites(
    at: datetime, sign_ins: tuple[tuple[str, str, str], ...]
) -> tuple[Person, UUID, UUID]:
    name, email, _ = cast.PEOPLE[0]
    made = make_organisation(
        name=cast.ORGANISATION,
        person=NewPerson(name, email, sign_ins[0][2]),
        site=Place(*cast.HALL),
        at=at,
    )
    manager = Person.objects.get(uid=made.body["person"]["uid"])
    shop = add_site(asking(manager, at), place=Place(*cast.SHOP))
    return manager, UUID(made.body["site"]["uid"]), UUID(str(shop.body["site"]["uid"]))


def _people(
    manager: Person,
    sites: tuple[UUID, UUID],
    sign_ins: SignIns,
    at: datetime,
) -> list[Person]:
    """Everybody but the first manager, at both sites; the keepers are returned."""
    keepers = []
    for (name, email, role), (_, _, password) in zip(cast.PEOPLE, sign_ins, strict=True):
        if email == manager.email:
            continue
        made = add_person(
            asking(manager, at),
            person=NewPerson(name, email, password),
            roles=[{"site": site, "role": role} for site in sites],
        )
        if role == "keeper":
            keepers.append(Person.objects.get(uid=made.body["person"]["uid"]))
    return keepers


def _catalogue(manager: Person, at: datetime) -> tuple[dict[str, UUID], list[UUID]]:
    species = {}
    for name, animal in cast.ANIMALS.items():
        body = {
            "scientific_name": animal.scientific_name,
            "aphia_id": animal.aphia_id,
            "groups": [],
            "trade_names": [animal.trade_name],
        }
        made = make_species(asking(manager, at), body=body)
        species[name] = UUID(str(made.body["species"]["uid"]))
    suppliers = []
    for name in cast.SUPPLIERS:
        settings = {"claim_terms": {"doa": 7200, "short": 86400}}
        made = make_supplier(asking(manager, at), name=name, settings=settings)
        suppliers.append(UUID(str(made.body["supplier"]["uid"])))
    return species, suppliers


def _floor(
    site: UUID,
    manager: Person,
    keepers: list[Person],
    at: datetime,
    rooms: Mapping[str, tuple[tuple[str, int, int], ...]],
    *,
    kits: int,
) -> Floor:
    floor = Floor(site, manager, keepers)
    floor.build(rooms, kits, at)
    return floor


def _finish_old_claims(manager: Person, now: datetime) -> None:
    """Claims of deliveries that are long over were made at the time."""
    old = Task.objects.filter(what="prepare_claim", state="open", limit__lt=now - CLAIMS_OVER)
    for task in old.order_by("site", "key"):
        complete_task(asking(manager, now, reason="sent to the supplier"), task=task.uid)
