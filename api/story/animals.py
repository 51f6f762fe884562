"""Animals arrive on a list, are counted out of their bags, placed, moved and watched."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from api.story.client import Service, Stopped
from api.story.floor import CHECK_EVERY, Floor

DAY = timedelta(days=1)


@dataclass
class Arrived:
    """A consignment on record: its lines, each with how many are listed."""

    uid: str
    waybill: str
    lines: list[dict[str, Any]]

    @property
    def listed(self) -> int:
        return sum(int(line["listed"]) for line in self.lines)


def apply_list(
    service: Service, site: str, supplier: str, file: Path, answers: Mapping[str, str]
) -> Arrived:
    """Send a packing list, answer what it leaves open, and let it be entered."""
    sent = service.upload(f"sites/{site}/imports", file, supplier=supplier)["import"]
    open_ = [one for one in sent["questions"] if one["key"] not in answers]
    if sent["problems"] or open_:
        raise Stopped(f"The list is not clear: {sent['problems']} {open_}")
    said = {"answers": dict(answers)}
    made = service.post(f"imports/{sent['uid']}/applications", said)["consignment"]
    return Arrived(made["uid"], made["waybill"], made["lines"])


@dataclass
class Batch:
    """A batch on its way through the protocol; `alive` is what the people there count."""

    service: Service
    floor: Floor
    uid: str
    alive: int
    place: str
    checked_at: datetime

    def now(self) -> dict[str, Any]:
        return dict(self.service.get(f"batches/{self.uid}")["batch"])

    def live_until(self, moment: datetime) -> None:
        """Days go by, each with its round and its readings, until `moment`."""
        while self.service.now + DAY < moment:
            self.service.wait(DAY)
            if self.service.now - self.checked_at >= CHECK_EVERY:
                self.floor.check_instruments()
                self.checked_at = self.service.now
            self.floor.look_round()
            self.floor.read(self.place)
        self.service.at(moment)

    def lose(self, count: int, cause: str) -> None:
        """So many are found dead on the round and taken out at once."""
        line = {"batch": self.uid, "fate": "dead", "count": count, "cause": [cause]}
        self.service.post("losses", {"lines": [line]})
        self.alive -= count

    def move(self, container: str, kit: str) -> dict[str, Any]:
        """Measure both waters, count, and move all of them; the batch afterwards."""
        self.floor.read(self.place, container)
        body = {
            "ended_stay": self.now()["stay"]["uid"],
            "to_container": self.floor.containers[container],
            "kit": self.floor.kits[kit],
            "counts": [self.alive],
        }
        moved = self.service.post(f"batches/{self.uid}/moves", body)
        self.place = container
        return dict(moved["batch"])


def place(floor: Floor, arrived: Arrived, dead: int) -> Batch:
    """Out of the bags, the dead on arrival apart, into the first container and kit."""
    service, sources, alive = floor.service, [], 0
    for number, line in enumerate(arrived.lines):
        doa = dead if number == 0 else 0
        counted = {"received": line["listed"], "doa": doa}
        service.post(f"lines/{line['uid']}/counts", counted)
        sources.append({"line": line["uid"], "count": line["listed"] - doa})
        alive += line["listed"] - doa
    floor.read("R1-01")
    body = {
        "from": sources,
        "container": floor.containers["R1-01"],
        "kit": floor.kits["K-1"],
        "counts": [alive],
        "protocol": "transfer-288@1",
    }
    made = service.post("batches", body)["batch"]
    return Batch(service, floor, made["uid"], alive, "R1-01", service.now)
