"""A true story of animals in few words, and its delivery in any order.

    story = Story(shop)
    batch = story.place(20, at=0)
    story.lose(batch, 2, at=5)
    story.move(batch, at=70)
    story.deliver(story.told, repeats=(1,))

Hours count from `START`. Everything is told as happened, by tablets that know their clocks:
when an entry comes to the service says nothing of when it was made.
"""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

from protocols.values import Standing
from stock.doors.door import Asking, DeviceEntry, Door, enter
from stock.ledger import Told
from tests.make import START, Shop

NAMES = UUID("0f6a3c52-7a39-4c0e-9a55-6f0c2b4f7d11")


@dataclass(frozen=True)
class Ground:
    """Where stories happen: one line, places and kits for every batch, and three tablets."""

    shop: Shop
    line: UUID
    places: Sequence[tuple[UUID, UUID]]
    devices: Sequence[UUID]


@dataclass
class Batch:
    """Where a batch of the story stands, as the story goes."""

    uid: UUID
    n: int
    alive: int
    stay: UUID
    moves: int = 0


@dataclass
class Story:
    ground: Ground
    now: datetime
    each: int = 5
    told: list[tuple[datetime, Told]] = field(default_factory=list)
    numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))
    batches: int = 0

    def place(self, count: int, at: float) -> Batch:
        batch = Batch(self._name(), self.batches, count, self._name())
        self.batches += 1
        container, kit = self._stands(batch)
        body = {
            "batch": batch.uid,
            "from": [{"line": self.ground.line, "count": count}],
            "container": container,
            "kit": kit,
            "counts": [count],
            "protocol": "transfer-288",
            "version": 1,
            "stay": batch.stay,
        }
        self._tell("batch_placed", body, at)
        return batch

    def move(self, batch: Batch, at: float, missing: int = 0) -> UUID:
        """To the next of its containers; the uid of the report."""
        ended, batch.stay = batch.stay, self._name()
        batch.moves += 1
        batch.alive -= missing
        container, kit = self._stands(batch)
        body = {
            "batch": batch.uid,
            "ended_stay": ended,
            "stay": batch.stay,
            "container": container,
            "kit": kit,
            "counts": [batch.alive],
            "missing": missing,
            "readings": [],
            "searched": None,
        }
        return self._tell("batch_moved", body, at)

    def lose(self, batch: Batch, count: int, at: float) -> UUID:
        batch.alive -= count
        body = {
            "batch": batch.uid,
            "fate": "dead",
            "count": count,
            "cause": ["unknown"],
            "certainty": "certain",
            "found_at": self._at(at),
        }
        return self._tell("loss_recorded", body, at)

    def miss(self, batch: Batch, count: int, at: float) -> UUID:
        batch.alive -= count
        container, _ = self._stands(batch)
        body = {"batch": batch.uid, "count": count, "container": container}
        return self._tell("missing_recorded", body, at)

    def find(self, batch: Batch, missing: UUID, count: int, at: float, alive: bool) -> UUID:
        batch.alive += count if alive else 0
        container, _ = self._stands(batch)
        body = {"of": missing, "count": count, "container": container, "alive": alive}
        return self._tell("found_again", body, at)

    def bear(self, batch: Batch, count: int, at: float) -> UUID:
        batch.alive += count
        body = {"batch": batch.uid, "count": count, "estimated": False}
        return self._tell("born_here", body, at)

    def deliver(self, order: Sequence[int], repeats: Iterable[int] = ()) -> None:
        """Tell everything in this order, some of it twice, under the same request keys."""
        for n in (*order, *repeats):
            at, told = self.told[n]
            door: Door[None] = Door(
                load=lambda log: None,
                ask=lambda world: (),
                tell=lambda world, told=told: (told,),  # type: ignore[misc]
                show=lambda world: {},
            )
            enter(self._asking(n, at), self.ground.shop.site, door)

    def _asking(self, n: int, at: datetime) -> Asking:
        device = self.ground.devices[n % len(self.ground.devices)]
        return Asking(
            person=self.ground.shop.manager,
            key=f"story-{n}",
            question=f"story-{n}",
            now=self.now,
            performed_at=at,
            standing=Standing.HAPPENED,
            device=DeviceEntry(device, n, at, 0),
        )

    def _stands(self, batch: Batch) -> tuple[UUID, UUID]:
        """Every batch has containers and kits of its own, and takes them in turn."""
        return self.ground.places[batch.n * self.each + batch.moves % self.each]

    def _name(self) -> UUID:
        return uuid5(NAMES, str(next(self.numbers)))

    def _at(self, hours: float) -> datetime:
        return START + timedelta(hours=hours)

    def _tell(self, kind: str, body: dict[str, Any], at: float) -> UUID:
        uid = self._name()
        self.told.append((self._at(at), Told(kind, body, uid=uid)))
        return uid
