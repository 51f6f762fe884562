"""A shop gets ready: a room, containers, kits of pieces, instruments, everything dry."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from api.story.client import Service

PIECES = ("heater", "thermometer", "air_line", "air_stone", "shelter", "lid")
INSTRUMENTS = {"T-1": "temperature", "S-1": "salinity"}
WATER = {"temperature": "25.6", "salinity": "33.0"}
UNITS = {"temperature": "Cel", "salinity": "1"}
CHECK_EVERY = timedelta(days=6)


@dataclass
class Floor:
    """What stands in the shop, by the labels that are painted on it."""

    service: Service
    site: str
    room: str = ""
    containers: dict[str, str] = field(default_factory=dict)
    kits: dict[str, str] = field(default_factory=dict)
    pieces: dict[str, list[str]] = field(default_factory=dict)
    instruments: dict[str, str] = field(default_factory=dict)

    def build(self, number: int) -> None:
        """A room with one rack, so many containers, and a kit for each."""
        self.room = self._make("rooms", {"label": "Quarantine"})
        rack = self._make("racks", {"label": "R1", "room": self.room})
        for n in range(1, number + 1):
            label = f"R1-{n:02}"
            body = {"label": label, "rack": rack, "x_m": f"{0.6 * n:.1f}", "fill_mark_l": "60"}
            self.containers[label] = self._make("containers", body)
        for label in (f"K-{n}" for n in range(1, number + 1)):
            self._kit(label)
        for label, quantity in INSTRUMENTS.items():
            made = self._make("instruments", {"label": label, "quantities": [quantity]})
            self.instruments[label] = made

    def check_instruments(self) -> None:
        """Both instruments are compared with a standard, and right."""
        for label, quantity in INSTRUMENTS.items():
            value = WATER[quantity]
            body = {"standard": "reference", "expected": value, "got": value, "passed": True}
            self.service.post(f"instruments/{self.instruments[label]}/checks", body)

    def disinfect(self) -> None:
        """Cleaned of dirt, an hour in chlorine as measured, rinsed; told as it ends."""
        begun = self.service.now
        self.service.wait(timedelta(hours=1))
        body = {
            "subjects": self._everything(),
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": begun.isoformat(),
            "ended_at": self.service.now.isoformat(),
            "rinsed": True,
        }
        self.service.post("disinfections", body)

    def see_dry(self) -> None:
        """Somebody looks at every piece: no timer makes anything dry."""
        self.service.post("dry-sightings", {"subjects": self._everything()})

    def read(self, *labels: str) -> None:
        """Temperature and salinity of these containers, measured now."""
        readings = [
            {
                "container": self.containers[label],
                "quantity": quantity,
                "value": WATER[quantity],
                "unit": UNITS[quantity],
                "instrument": self.instruments[instrument],
            }
            for label in labels
            for instrument, quantity in INSTRUMENTS.items()
        ]
        self.service.post("readings", {"readings": readings})

    def look_round(self) -> None:
        """The round of the day: every container is looked at."""
        body = {"room": self.room, "looked_at": list(self.containers.values())}
        self.service.post("rounds", body)

    def _kit(self, label: str) -> None:
        self.kits[label] = self._make("kits", {"label": label, "needs": list(PIECES)})
        self.pieces[label] = []
        for sort in PIECES:
            piece = self._make("pieces", {"label": f"{label} {sort}", "type": sort})
            self.service.post(f"pieces/{piece}/fittings", {"kit": self.kits[label]})
            self.pieces[label].append(piece)

    def _make(self, sort: str, body: Mapping[str, object]) -> str:
        made = self.service.post(f"sites/{self.site}/{sort}", body)
        return str(made[sort.removesuffix("s")]["uid"])

    def _everything(self) -> list[str]:
        pieces = [piece for found in self.pieces.values() for piece in found]
        return [*self.containers.values(), *pieces]
