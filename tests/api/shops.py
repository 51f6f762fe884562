"""Two shops on one service: ours, in which there is something of every sort, and theirs.

    with kept(blocker):
        shops = Shops.open(Client())

What there is has a name (`batch`, `fresh`, `open_line`), the same in both shops, so that a
request about ours can be made one about theirs. All of it is told by a manager who is not one
of the people whose rights are tried: nobody confirms or decides what they told themselves.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from protocols.tracing_answer import FORWARD, Question
from protocols.values import Standing
from stock.answers import Answered
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.certificates import issue_certificate
from stock.doors.counts import record_missing
from stock.doors.door import Asking
from stock.doors.erasing import place_legal_hold
from stock.doors.exports import ask_for_bag
from stock.doors.fittings import Fitting, fit_piece
from stock.doors.handovers import hand_over
from stock.doors.imports import Sent, preview_list
from stock.doors.intake import LineAsked, enter_consignment
from stock.doors.kits import Disinfection, disinfect, see_dry
from stock.doors.leaving import DispatchAsked, dispatch_animals
from stock.doors.losses import LossLine, record_losses
from stock.doors.measured import Value
from stock.doors.mixing import make_water
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.readings import Comparison, check_instrument, take_readings
from stock.doors.signs import place_hold, record_incident
from stock.doors.sites import DeviceAsked, set_device
from stock.doors.traces import make_trace
from stock.doors.visits import VisitAsked, open_visit
from stock.doors.webhooks import make_webhook
from stock.models import DeviationRow, Fact, Line, Person, Site, StayRow, Task
from tests.make import START, Shop, asking, make, make_line, make_person, make_shop
from tests.walk import Walk

HOUR = timedelta(hours=1)
ROLES = ("keeper", "manager", "veterinarian", "auditor")
SIZE = 6
PROTOCOL = "transfer-288@1"
WATER = (("salinity", "33.0", "1"), ("temperature", "25.0", "Cel"))
MAKE = {
    "vat": "V1",
    "salt_lot": "L7",
    "volume_l": "200",
    "salinity": "33.0",
    "temperature_c": "25.0",
    "total_chlorine_mg_l": "0",
}
PHOTO = b"\x89PNG\r\n\x1a\n" + bytes(64)
LIST = b"box,species,quantity\n1,Amphiprion ocellaris,4\n"


@dataclass
class Furnished:
    """A shop with its clock; `uids` says what there is by name."""

    shop: Shop
    now: datetime = START
    uids: dict[str, str] = field(default_factory=dict)

    def asked(self, **given: Any) -> Asking:
        return asking(self.shop.manager, self.now, **given)

    def uid(self, name: str) -> UUID:
        return UUID(self.uids[name])

    def named(self, **found: Any) -> None:
        self.uids |= {name: str(uid) for name, uid in found.items()}

    @property
    def site(self) -> Site:
        return Site.objects.get(uid=self.shop.site)

    # -- What stands there -------------------------------------------------------------------

    def equip(self) -> None:
        shop = self.shop
        self.named(site=shop.site, organisation=shop.organisation)
        self.named(person=make_person(shop, "Ola", "keeper").uid)
        self.named(room=make(shop, "rooms", "Hall", light_on="08:00", light_off="20:00"))
        rack = make(shop, "racks", "R1", room=self.uids["room"], x_m="0", y_m="0")
        self.named(rack=rack, system=make(shop, "systems", "Main", status="unknown"))
        for n in range(1, SIZE + 1):
            self.named(**{f"container_{n}": self._container(n), f"kit_{n}": self._kit(n)})
        self.named(piece=self._piece("H-1"), fitted=self._piece("H-2"))
        quantities = ["temperature", "salinity"]
        self.named(instrument=make(shop, "instruments", "T-1", quantities=quantities))
        fitting = Fitting(self.uid("fitted"), kit=self.uid(f"kit_{SIZE}"))
        fit_piece(self.asked(), fitting=fitting)
        device = set_device(self.asked(), asked=DeviceAsked(shop.site, "Tablet 1"))
        self.named(device=device.body["device"]["uid"])
        lot: dict[str, Any] = {"dry_fraction": "0.9", "dry_fraction_from": "assumed"}
        self.named(salt_lot=make(shop, "salt-lots", "L7", product="Salt", in_use=True, **lot))
        strong: dict[str, Any] = {"strength_percent": "5", "strength_basis": "trade_percent"}
        strong |= {"product": "Bleach", "strength_from": "label", "in_use": True}
        self.named(bleach=make(shop, "bleaches", "B1", **strong))
        made = make_water(self.asked(), site=shop.site, body=MAKE)
        self.named(make=made.body["make"]["uid"])

    def _container(self, n: int) -> UUID:
        body: dict[str, Any] = {
            "rack": self.uids["rack"],
            "x_m": f"{n}",
            "y_m": "0",
            "z_m": "0",
        }
        plain: dict[str, Any] = {
            "shape": "box",
            "fill_mark_l": "60",
            "lid": True,
            "air_stone": True,
        }
        return make(self.shop, "containers", f"C-{n}", in_use=True, **body, **plain)

    def _kit(self, n: int) -> UUID:
        return make(self.shop, "kits", f"K-{n}", needs=[])

    def _piece(self, label: str) -> UUID:
        return make(self.shop, "pieces", label, type="heater", single_use=False)

    def make_ready(self) -> None:
        """Disinfected and dry for a day; instruments are checked on the next."""
        names = [name for name in self.uids if name.startswith(("container_", "kit_"))]
        subjects = [self.uid(name) for name in names] + [self.uid("piece"), self.uid("fitted")]
        done = Disinfection(
            True, "chlorine", "200", True, self.now - HOUR, self.now, rinsed=True
        )
        disinfect(self.asked(), site=self.shop.site, subjects=subjects, done=done)
        see_dry(self.asked(), site=self.shop.site, subjects=subjects)
        self.now += 25 * HOUR
        self.check()

    def check(self) -> None:
        compared = Comparison("reference", "25.0", "25.0", quantity="temperature")
        check_instrument(self.asked(), instrument=self.uid("instrument"), compared=compared)

    def read(self, *numbers: int) -> None:
        values = [
            Value(self.uid(f"container_{n}"), *value, instrument=self.uid("instrument"))
            for n in numbers
            for value in WATER
        ]
        made = take_readings(self.asked(), site=self.shop.site, values=values)
        self.named(reading=made.body["readings"][0]["uid"])

    # -- Animals -------------------------------------------------------------------------------

    def place(self, count: int, n: int, *typed: int, **given: Any) -> UUID:
        self.read(n)
        line = make_line(self.shop, count, at=self.now)
        container, kit = self.uid(f"container_{n}"), self.uid(f"kit_{n}")
        asked = PlaceAsked(((line, count),), container, kit, typed or (count,), PROTOCOL)
        made = place_batch(self.asked(**given), site=self.site, asked=asked)
        return UUID(made.body["batch"]["uid"])

    def move(self, batch: UUID, count: int, n: int) -> None:
        self.now += 71 * HOUR
        self.check()
        self.read(n - 1, n)
        stay = StayRow.objects.get(batch=batch, ended_latest=None)
        asked = MoveAsked(
            batch, stay.uid, self.uid(f"container_{n}"), self.uid(f"kit_{n}"), (count,)
        )
        move_batch(self.asked(), site=self.site, asked=asked)

    def complete(self) -> None:
        """A batch whose animals are certified; two of them are sold."""
        batch = self.place(20, 1)
        for n in range(2, SIZE + 1):
            self.move(batch, 20, n)
        self.now += 15 * 24 * HOUR
        self.named(batch=batch)
        issued = issue_certificate(
            self.asked(), site=self.site, batch=batch, count=20, address="http://testserver"
        )
        self.named(certificate=issued.body["certificate"]["uid"])
        self.url = issued.body["certificate"]["url"]

    def begin(self) -> None:
        """A batch two days old, counted otherwise than it was placed, with somebody missing."""
        self.check()
        happened = {"standing": Standing.HAPPENED}
        self.named(
            fresh=self.place(12, 2, 11, 11, **happened), held=self.place(8, 3, **happened)
        )
        self.named(stay=StayRow.objects.get(batch=self.uid("fresh")).uid)
        told = record_missing(self.asked(), batch=self.uid("fresh"), count=2)
        self.named(missing=told.body["missing"]["uid"])
        self.now += 49 * HOUR
        self.check()
        held = place_hold(self.asked(), batch=self.uid("held"), why="the veterinarian comes")
        self.named(hold=held.body["hold"]["uid"])

    def ask_and_tell(self) -> None:
        """What is open: a task, a question, an incident, a report that does not fit, a move
        told in two ways; a line and an import to be counted."""
        self.named(told_again=self._tell_move(8), account=self._tell_move(7))
        self.named(parked=self._too_many_lost())
        told = record_incident(
            self.asked(), batch=self.uid("fresh"), container=None, kind="jumped", what={}
        )
        self.named(incident=told.body["incident"]["uid"])
        handed = hand_over(self.asked(), site=self.shop.site, said={"odd": "A smell."})
        self.named(handover=handed.body["handover"]["uid"])
        seen = VisitAsked(
            "Ansel", "", self.now - HOUR, self.now, ["water"], (), timedelta(hours=9)
        )
        opened, _link = open_visit(self.asked(), site=self.shop.site, asked=seen)
        self.named(visit=opened.body["visit"]["uid"], noted=opened.body["fact"]["uid"])
        asked = self.asked(reason="A court asks for it.")
        placed_hold = place_legal_hold(asked, site=self.shop.site, batches=())
        self.named(legal_hold=placed_hold.body["legal_hold"]["uid"])
        wanted = ask_for_bag(
            self.shop.manager,
            site=self.shop.site,
            begins=self.now - HOUR,
            ends=self.now,
            address="https://shop.example",
            at=self.now,
        )
        self.named(export=wanted.uid)
        hook, _secret = make_webhook(
            self.shop.manager,
            site=self.shop.site,
            label="Shop program",
            address="https://example.org/events",
            kinds=["hold.placed"],
            at=self.now,
        )
        self.named(webhook=hook.uid)
        about = Question(self.uids["fresh"], FORWARD, None, self.now)
        traced = make_trace(
            self.shop.manager, site=self.shop.site, asked=about, known_by=None, at=self.now
        )
        self.named(trace=traced.uid)
        question = DeviationRow.objects.get(batch=self.uid("fresh"), rule="count_differs")
        self.named(deviation=question.uid, task=self._task())
        placed = Fact.objects.get(kind="batch_placed", body__batch=self.uids["fresh"])
        line = Line.objects.get(uid=make_line(self.shop, 9, at=self.now))
        self.named(fact=placed.uid, line=line.uid, species=line.species_id)
        self.named(consignment=line.consignment_id, supplier=line.consignment.supplier_id)
        self.named(open_line=self._announce())
        sent = Sent(SimpleUploadedFile("list.csv", LIST), "list.csv", {})
        listed = preview_list(
            self.shop.manager,
            site=self.shop.site,
            supplier=self.uid("supplier"),
            sent=sent,
            at=self.now,
        )
        self.named(**{"import": listed.body["import"]["uid"]})

    def _tell_move(self, count: int) -> UUID:
        """One account of the only move of `held`; its uid."""
        stay = StayRow.objects.filter(batch=self.uid("held")).earliest("began_earliest")
        container, kit = self.uid("container_5"), self.uid("kit_5")
        asked = MoveAsked(self.uid("held"), stay.uid, container, kit, (count,))
        happened = self.asked(standing=Standing.HAPPENED)
        told = move_batch(happened, site=self.site, asked=asked)
        return UUID(told.body["fact"]["uid"])

    def _too_many_lost(self) -> UUID:
        line = LossLine(self.uid("held"), "dead", 9, self.now, ("unknown",))
        told = record_losses(self.asked(standing=Standing.HAPPENED), lines=[line])
        return UUID(told.body["fact"]["uid"])

    def _task(self) -> UUID:
        rows = Task.objects.filter(site=self.site, state="open", batch=self.uid("fresh"))
        return rows.order_by("key").values_list("uid", flat=True)[0]

    def _announce(self) -> UUID:
        """A line of a small delivery that nobody has counted yet."""
        lines = [LineAsked(listed=9, species=self.uid("species"))]
        made = enter_consignment(
            self.asked(),
            site=self.shop.site,
            supplier=self.uid("supplier"),
            waybill=None,
            lines=lines,
        )
        self.named(announced=made.body["consignment"]["uid"])
        return UUID(str(made.body["consignment"]["lines"][0]["uid"]))

    def sell(self) -> None:
        asked = DispatchAsked(self.uid("batch"), 2, buyer="Coral House")
        sold: Answered = dispatch_animals(self.asked(), asked=asked)
        self.named(dispatch=sold.body["dispatch"]["uid"])


@dataclass
class Shops:
    """Both shops, and who asks: people of ours by role, `stranger` for the other manager."""

    ours: Furnished
    theirs: Furnished
    people: dict[str, Walk]

    @classmethod
    def open(cls, client: Client) -> "Shops":
        ours, theirs = Furnished(make_shop()), Furnished(make_shop())
        for shop in (ours, theirs):
            shop.equip()
            shop.make_ready()
        ours.complete()
        theirs.now = ours.now
        for shop in (ours, theirs):
            shop.begin()
            shop.ask_and_tell()
        ours.sell()
        people = {
            role: _walk(client, ours, make_person(ours.shop, role, role, ours.now))
            for role in ROLES
        }
        people["stranger"] = _walk(client, theirs, theirs.shop.manager)
        return cls(ours, theirs, people)


def _walk(client: Client, at: Furnished, person: Person) -> Walk:
    walk = Walk(client, at.now.isoformat(), site=at.uids["site"])
    signs_in = {"email": person.email, "password": "correct horse"}
    walk.token = walk.post("tokens", signs_in)["token"]
    walk.person = str(person.uid)
    return walk
