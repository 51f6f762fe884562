"""The walk that every story starts from: a floor with containers and kits that are ready.

    floor = Floor.open(client, "2027-01-04T08:00:00+01:00", containers=6, kits=6)
    batch = floor.place(20, "R1-01", "A-1", at="2027-01-05T09:00:00+01:00")
    floor.move(batch, "R1-02", "B-1", [20], at="2027-01-08T09:00:00+01:00")

Equipment is cleaned, disinfected, seen dry and kept dry for 24 h on the day before.
"""

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from django.test import Client

from tests.walk import Problem, Walk

PIECES = ("heater", "air_line")
WATER = {"salinity": "33.0", "temperature": "25.6"}
UNITS = {"salinity": "1", "temperature": "Cel"}
INSTRUMENTS = (("T-1", "temperature"), ("S-1", "salinity"))
DAY = timedelta(hours=24)


@dataclass
class Floor:
    walk: Walk
    uids: dict[str, str] = field(default_factory=dict)
    species: str = ""
    supplier: str = ""
    pieces: dict[str, list[str]] = field(default_factory=dict)
    checked_at: datetime | None = None

    @classmethod
    def open(
        cls,
        client: Client,
        at: str,
        *,
        zone: str = "Europe/Berlin",
        containers: int = 6,
        kits: int = 6,
        ready: bool = True,
    ) -> "Floor":
        """A shop with one room and rack; `at` is the moment from which everything is ready."""
        begin = datetime.fromisoformat(at) - 2 * DAY
        floor = cls(Walk.begin(client, begin.isoformat(), zone))
        floor._build(containers, kits)
        if ready:
            floor.disinfect(*floor.uids.values(), at=begin + timedelta(hours=2))
            floor.see_dry(*floor.uids.values(), at=begin + DAY)
        floor.walk.at(at)
        return floor

    def again(self) -> "Floor":
        """The same floor for another test: what that one adds to it stays its own."""
        again = replace(self, walk=self.walk.again(), uids=dict(self.uids))
        return replace(again, pieces={kit: [*of_it] for kit, of_it in self.pieces.items()})

    def _build(self, containers: int, kits: int) -> None:
        walk = self.walk
        here = f"sites/{walk.site}"
        room = walk.post(f"{here}/rooms", {"label": "Hall"})["room"]["uid"]
        rack = walk.post(f"{here}/racks", {"label": "R1", "room": room})["rack"]["uid"]
        for n in range(1, containers + 1):
            self._container(f"R1-{n:02}", rack, n)
        for n in range(1, kits + 1):
            self._kit(f"{'AB'[(n - 1) % 2]}-{(n + 1) // 2}")
        for label, quantity in INSTRUMENTS:
            self._instrument(label, quantity)
        self.supplier = walk.post("suppliers", {"name": "Sample Atoll Export"})["supplier"][
            "uid"
        ]
        self.species = walk.post("species", {"scientific_name": "Amphiprion ocellaris"})[
            "species"
        ]["uid"]

    def _container(self, label: str, rack: str, n: int) -> None:
        body = {"label": label, "rack": rack, "x_m": f"{n * 0.6:.1f}", "fill_mark_l": "60"}
        made = self.walk.post(f"sites/{self.walk.site}/containers", body)
        self.uids[label] = made["container"]["uid"]

    def _kit(self, label: str) -> None:
        here = f"sites/{self.walk.site}"
        kit = self.walk.post(f"{here}/kits", {"label": label, "needs": list(PIECES)})
        self.uids[label] = kit["kit"]["uid"]
        self.pieces[label] = []
        for sort in PIECES:
            body = {"label": f"{label} {sort}", "type": sort}
            piece = self.walk.post(f"{here}/pieces", body)["piece"]["uid"]
            self.walk.post(f"pieces/{piece}/fittings", {"kit": self.uids[label]})
            self.pieces[label].append(piece)

    def _instrument(self, label: str, quantity: str) -> None:
        body = {"label": label, "quantities": [quantity]}
        made = self.walk.post(f"sites/{self.walk.site}/instruments", body)
        self.uids[label] = made["instrument"]["uid"]

    def check_instruments(self, moment: datetime) -> None:
        """Both compared with their standards, where that was not done for six days."""
        if self.checked_at is not None and moment - self.checked_at < 6 * DAY:
            return
        self.checked_at = moment
        self.walk.at(moment)
        for label, quantity in INSTRUMENTS:
            value = WATER[quantity]
            check = {"standard": "reference", "expected": value, "got": value, "passed": True}
            self.walk.post(f"instruments/{self.uids[label]}/checks", check)

    def _equipment(self, labels_or_uids: tuple[str, ...]) -> list[str]:
        """Containers and kits by label or uid, each kit with its pieces; no instruments."""
        by_uid = {uid: label for label, uid in self.uids.items()}
        found: list[str] = []
        for one in labels_or_uids:
            label = by_uid.get(one, one)
            if label in ("T-1", "S-1"):
                continue
            found += self.pieces.get(label, [self.uids.get(label, one)])
        return found

    def disinfect(self, *what: str, at: datetime | str, **changes: Any) -> dict[str, Any]:
        """Cleaned, 200 mg/L chlorine as measured for an hour, rinsed; told as it ends."""
        ended = _moment(at)
        body = {
            "subjects": self._equipment(what),
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": (ended - timedelta(hours=1)).isoformat(),
            "ended_at": ended.isoformat(),
            "rinsed": True,
            "performed_at": ended.isoformat(),
            **changes,
        }
        return self.walk.at(ended).post("disinfections", body)

    def see_dry(self, *what: str, at: datetime | str) -> dict[str, Any]:
        body = {"subjects": self._equipment(what), "performed_at": _moment(at).isoformat()}
        return self.walk.at(_moment(at)).post("dry-sightings", body)

    def read(self, *labels: str, at: datetime | str, **water: str) -> dict[str, Any]:
        """Salinity and temperature of these containers, with instruments in check."""
        values = {**WATER, **water}
        moment = _moment(at)
        self.check_instruments(moment)
        readings = [
            {
                "container": self.uids[label],
                "quantity": quantity,
                "value": values[quantity],
                "unit": UNITS[quantity],
                "instrument": self.uids[instrument],
                "performed_at": moment.isoformat(),
            }
            for label in labels
            for quantity, instrument in (("temperature", "T-1"), ("salinity", "S-1"))
        ]
        return self.walk.at(moment).post(
            "readings", {"readings": readings, "performed_at": moment.isoformat()}
        )

    def receive(self, count: int, *, at: datetime | str, doa: int = 0, **counted: Any) -> str:
        """A small delivery of one species, counted out of its bags; its line."""
        self.walk.at(_moment(at))
        here = f"sites/{self.walk.site}/consignments"
        line = {"species": self.species, "listed": count, "boxes": ["1"]}
        made = self.walk.post(here, {"supplier": self.supplier, "lines": [line]})
        consignment = made["consignment"]
        at_text = _moment(at).isoformat()
        self.walk.post(
            f"consignments/{consignment['uid']}/deliveries", {"delivered_at": at_text}
        )
        uid = consignment["lines"][0]["uid"]
        self.walk.post(f"lines/{uid}/counts", {"received": count, "doa": doa, **counted})
        return str(uid)

    def place(
        self, count: int, container: str, kit: str, *, at: datetime | str, **more: Any
    ) -> str:
        """Receive and place so many, with fresh readings; the batch's uid."""
        line = more.pop("line", None) or self.receive(count, at=at)
        self.read(container, at=at)
        body = {
            "from": [{"line": line, "count": count}],
            "container": self.uids[container],
            "kit": self.uids[kit],
            "counts": [count],
            "protocol": "transfer-288@1",
            "performed_at": _moment(at).isoformat(),
            **more,
        }
        return str(self.walk.post("batches", body)["batch"]["uid"])

    def batch(self, uid: str, at: datetime | str | None = None) -> dict[str, Any]:
        if at is not None:
            self.walk.at(_moment(at))
        return dict(self.walk.get(f"batches/{uid}")["batch"])

    def move_body(
        self, batch: str, container: str, kit: str, counts: list[int]
    ) -> dict[str, Any]:
        return {
            "ended_stay": self.batch(batch)["stay"]["uid"],
            "to_container": self.uids[container],
            "kit": self.uids[kit],
            "counts": counts,
        }

    def move(
        self,
        batch: str,
        container: str,
        kit: str,
        counts: list[int],
        *,
        at: datetime | str,
        **more: Any,
    ) -> dict[str, Any]:
        """Read both waters and move the whole batch; the answer."""
        self.walk.at(_moment(at))
        here = self._label(self.batch(batch)["stay"]["container"])
        if more.pop("read", True):
            self.read(here, container, at=at)
        body = self.move_body(batch, container, kit, counts)
        body["performed_at"] = _moment(at).isoformat()
        return self.walk.post(f"batches/{batch}/moves", {**body, **more})

    def refused_move(
        self, batch: str, container: str, kit: str, counts: list[int], **more: Any
    ) -> Problem:
        body = self.move_body(batch, container, kit, counts)
        return self.walk.refused(f"batches/{batch}/moves", {**body, **more})

    def _label(self, uid: str) -> str:
        return next(label for label, known in self.uids.items() if known == uid)


def _moment(at: datetime | str) -> datetime:
    return at if isinstance(at, datetime) else datetime.fromisoformat(at)
