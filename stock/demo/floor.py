"""A site of the demo: rooms, racks, containers, kits, instruments; what is free and ready."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from stock.demo import cast
from stock.doors.care import make_round
from stock.doors.door import Asking
from stock.doors.fittings import Fitting, fit_piece
from stock.doors.kits import Disinfection, disinfect, see_dry
from stock.doors.readings import Comparison, check_instrument
from stock.doors.sites import set_hours
from stock.doors.things import SORTS, make_thing
from stock.models import Person

HOUR = timedelta(hours=1)
DRYING = 24 * HOUR
keys = itertools.count(1)


def asking(person: Person, at: datetime, **given: Any) -> Asking:
    """A request of the demo, told at the moment at which it was performed."""
    key = f"demo-{next(keys)}"
    return Asking(person=person, key=key, question=key, now=at, performed_at=at, **given)


@dataclass
class Floor:
    """Containers and kits of one site by label, and from when on each may be used."""

    site: UUID
    manager: Person
    keepers: Sequence[Person]
    uids: dict[str, UUID] = field(default_factory=dict)
    litres: dict[str, float] = field(default_factory=dict)
    rooms: dict[UUID, list[str]] = field(default_factory=dict)
    pieces: dict[str, list[UUID]] = field(default_factory=dict)
    ready: dict[str, datetime] = field(default_factory=dict)

    def build(
        self, rooms: Mapping[str, Sequence[tuple[str, int, int]]], kits: int, at: datetime
    ) -> None:
        """`rooms`: by label, racks as (label, containers, size); then kits and instruments."""
        self._hours(at)
        for label, racks in rooms.items():
            room = self._make("rooms", label, at, light_on="08:00", light_off="20:00")
            self.rooms[room] = []
            for place, (rack, count, size) in enumerate(racks):
                self._rack(rack, room, place, count, size, at)
        for n in range(kits):
            self._kit(f"{'AB'[n % 2]}-{n // 2 + 1}", at)
        self._instruments(at)
        self.clean([*self.litres, *self.pieces], at + HOUR)

    def keeper(self) -> Person:
        return self.keepers[next(keys) % len(self.keepers)]

    def free(self, among: Mapping[str, Any], at: datetime, litres: float = 0.0) -> str:
        """The container or kit that is ready soonest before `at` and just large enough."""
        fit = [
            one
            for one in among
            if self.ready.get(one, at + HOUR) <= at and self.litres.get(one, litres) >= litres
        ]
        return min(fit, key=lambda one: (self.litres.get(one, 0.0), self.ready[one], one))

    def look_around(self, at: datetime) -> None:
        """A round of every room: nothing out of the ordinary."""
        for room, labels in self.rooms.items():
            looked_at = [self.uids[label] for label in labels if label not in self.ready]
            if looked_at:
                make_round(
                    asking(self.keeper(), at), room=room, looked_at=looked_at, exceptions=[]
                )

    def clean(self, labels: Sequence[str], at: datetime) -> None:
        """Disinfected for an hour, seen dry two hours later, ready a day after that."""
        subjects = [
            uid for label in labels for uid in self.pieces.get(label, [self.uids[label]])
        ]
        done = Disinfection(
            cleaned=True,
            agent="chlorine",
            mg_per_l="200",
            measured=True,
            started_at=at,
            ended_at=at + HOUR,
            rinsed=True,
        )
        keeper = self.keeper()
        disinfect(asking(keeper, at + HOUR), site=self.site, subjects=subjects, done=done)
        see_dry(asking(keeper, at + 3 * HOUR), site=self.site, subjects=subjects)
        self.ready |= dict.fromkeys(labels, at + 3 * HOUR + DRYING)

    def _hours(self, at: datetime) -> None:
        set_hours(
            asking(self.manager, at),
            site=self.site,
            weekly=cast.HOURS,
            exceptions=[],
            in_force_from=at,
            version=0,
        )

    def _make(self, sort: str, label: str, at: datetime, **body: Any) -> UUID:
        made = make_thing(
            asking(self.manager, at),
            site=self.site,
            sort=SORTS[sort],
            body={"label": label, **body},
        )
        return UUID(str(made.body[SORTS[sort].name]["uid"]))

    def _rack(
        self, label: str, room: UUID, place: int, count: int, size: int, at: datetime
    ) -> None:
        rack = self._make(
            "racks", label, at, room=str(room), x_m="0.5", y_m=f"{1.5 * place:.1f}"
        )
        litres, inside = cast.SIZES[size]
        across = (count + 1) // 2
        for n in range(count):
            name = f"{label}-{n + 1:02}"
            width = float(inside["length"]) + 0.1
            self.uids[name] = self._make(
                "containers",
                name,
                at,
                rack=str(rack),
                x_m=f"{width * (n % across + 0.5):.2f}",
                y_m="0",
                z_m="0.3" if n < across else "1.1",
                inside_m=inside,
                shape="box",
                fill_mark_l=litres,
                lid=True,
                air_stone=True,
                in_use=True,
            )
            self.litres[name] = float(litres)
            self.rooms[room].append(name)

    def _kit(self, label: str, at: datetime) -> None:
        kit = self._make("kits", label, at, needs=list(cast.KIT_NEEDS))
        self.uids[label] = kit
        self.pieces[label] = []
        for sort in cast.KIT_NEEDS:
            piece = self._make(
                "pieces", f"{label} {sort.replace('_', ' ')}", at, type=sort, single_use=False
            )
            fit_piece(asking(self.manager, at), fitting=Fitting(piece, kit=kit))
            self.pieces[label].append(piece)

    def _instruments(self, at: datetime) -> None:
        for label, quantity in (("T-1", "temperature"), ("S-1", "salinity")):
            self.uids[label] = self._make("instruments", label, at, quantities=[quantity])
        self.check(at)

    def check(self, at: datetime) -> None:
        """Both instruments compared with their standards."""
        for label, quantity, value in (
            ("T-1", "temperature", "25.0"),
            ("S-1", "salinity", "35.0"),
        ):
            compared = Comparison(
                standard="reference", expected=value, got=value, quantity=quantity
            )
            check_instrument(
                asking(self.keeper(), at),
                instrument=self.uids[label],
                compared=compared,
            )
