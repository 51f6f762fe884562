"""Figures of what reaches far: one fact that many batches relied on, and all facts again."""

import time
from datetime import datetime, timedelta
from uuid import UUID

from protocols.intake import BoxCounted
from protocols.values import Standing
from protocols.versions import DEFAULT
from stock.demo.floor import Floor, asking
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.intake import LineAsked, count_line, enter_consignment
from stock.doors.measured import Value
from stock.doors.people import Place, add_site
from stock.doors.readings import Comparison, check_instrument, take_readings
from stock.judging import bring_up_to_date, judging_later
from stock.measuring import Figure
from stock.models import Fact, Person, Reliance, Site, Species, Supplier
from stock.rebuild import rebuild

DAY = timedelta(days=1)
READ_AT_ONCE = 50
FACTS_PER_S = 100_000 / 60


def far_fact(manager: Person, now: datetime, batches: int = 500, goal: float = 1.0) -> Figure:
    """Seconds until a failed check is answered whose instrument so many batches relied on."""
    with judging_later():
        floor = _crowded(manager, now, batches)
    bring_up_to_date(now)
    instrument = floor.uids["T-1"]
    reached = Reliance.objects.filter(subject=instrument).values("batch").distinct().count()
    failed = Comparison(
        standard="reference", expected="25.0", got="26.4", passed=False, quantity="temperature"
    )
    began = time.perf_counter()
    check_instrument(asking(manager, now), instrument=instrument, compared=failed)
    took = time.perf_counter() - began
    return Figure(f"a fact that reaches {reached} batches", took, goal, "s")


def rebuilt_per_second(now: datetime, goal: float = FACTS_PER_S) -> Figure:
    """Facts applied again in a second, everything that follows from them judged."""
    facts = Fact.objects.count()
    began = time.perf_counter()
    rebuild(now)
    return Figure("facts rebuilt", facts / (time.perf_counter() - began), goal, "1/s")


def _crowded(manager: Person, now: datetime, batches: int) -> Floor:
    """A site with so many batches of one animal, each read with the same thermometer."""
    begin = now - 4 * DAY
    made = add_site(asking(manager, begin), place=Place("Crowd", "Europe/Lisbon"))
    site = Site.objects.get(uid=made.body["site"]["uid"])
    floor = Floor(site.uid, manager, [manager])
    floor.build({"Crowd": (("W", batches, 0),)}, kits=0, at=begin)
    containers = [floor.uids[label] for label in floor.litres]
    placed = now - DAY
    _place(manager, site, containers, placed)
    for start in range(0, batches, READ_AT_ONCE):
        values = [
            Value(one, "temperature", "25.4", "Cel", instrument=floor.uids["T-1"])
            for one in containers[start : start + READ_AT_ONCE]
        ]
        take_readings(asking(manager, placed), site=site.uid, values=values)
    return floor


def _place(manager: Person, site: Site, containers: list[UUID], at: datetime) -> None:
    species, supplier = Species.objects.first(), Supplier.objects.first()
    assert species is not None
    assert supplier is not None
    count = len(containers)
    entered = enter_consignment(
        asking(manager, at),
        site=site.uid,
        supplier=supplier.uid,
        waybill=None,
        lines=[LineAsked(listed=count, species=species.uid)],
    )
    line = UUID(str(entered.body["consignment"]["lines"][0]["uid"]))
    count_line(asking(manager, at), uid=line, count=BoxCounted(None, count, 0))
    for container in containers:
        asked = PlaceAsked(((line, 1),), container, None, (1,), DEFAULT)
        told = asking(manager, at, standing=Standing.HAPPENED)
        place_batch(told, site=site, asked=asked)
