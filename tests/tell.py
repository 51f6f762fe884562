"""A true story of animals in few words, and its delivery in any order.

    story = Story(ground, now=END)
    batch = story.place(20, at=0)
    story.lose(batch, 2, at=5)
    story.move(batch, at=70)
    story.deliver(story.order, repeats=(1,))

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
from stock.models import Person
from tests.make import START, Shop

NAMES = UUID("0f6a3c52-7a39-4c0e-9a55-6f0c2b4f7d11")
MINUTE = 1 / 60


@dataclass(frozen=True)
class Ground:
    """Where stories happen: a line, a few places with their kits, tablets, two people."""

    shop: Shop
    line: UUID
    places: Sequence[tuple[UUID, UUID]]
    devices: Sequence[UUID]
    other: Person


@dataclass
class Batch:
    """Where a batch of the story stands, as the story goes."""

    uid: UUID
    alive: int
    stay: UUID
    place: tuple[UUID, UUID]
    moved_by: UUID | None = None


@dataclass
class Missing:
    batch: Batch
    uid: UUID
    count: int
    container: UUID


@dataclass
class Story:
    ground: Ground
    now: datetime
    told: list[tuple[datetime, Told, Person]] = field(default_factory=list)
    batches: list[Batch] = field(default_factory=list)
    missing: list[Missing] = field(default_factory=list)
    sent: list[tuple[Batch, UUID]] = field(default_factory=list)
    free: list[tuple[UUID, UUID]] = field(default_factory=list)
    numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def __post_init__(self) -> None:
        self.free = list(self.ground.places)

    @property
    def order(self) -> range:
        """What was told, as it was told."""
        return range(len(self.told))

    def place(self, count: int, at: float) -> Batch:
        batch = Batch(self._name(), count, self._name(), self.free.pop(0))
        self.batches.append(batch)
        body = {
            "batch": batch.uid,
            "from": [{"line": self.ground.line, "count": count}],
            "counts": [count],
            "protocol": "transfer-288",
            "version": 1,
            **_stands(batch),
        }
        self._tell("batch_placed", body, at)
        return batch

    def move(self, batch: Batch, at: float, missing: int = 0) -> UUID:
        """To the place that was free for longest; the uid of the report."""
        ended, left = batch.stay, batch.place
        batch.stay, batch.place = self._name(), self.free.pop(0)
        self.free.append(left)
        batch.alive -= missing
        batch.moved_by = self._tell("batch_moved", _move(batch, ended, missing), at)
        if missing:
            self.missing.append(Missing(batch, batch.moved_by, missing, left[0]))
        return batch.moved_by

    def tell_again(self, batch: Batch, at: float, fewer: int, other_name: bool) -> None:
        """A second account of its last move, which counted so many fewer.

        They call the stay by another name, and from then on that is used, or the first.
        """
        _, told, _ = next(one for one in self.told if one[1].uid == batch.moved_by)
        stay = self._name()
        # Some may have been born since, so that fewer came than could be missed now.
        fewer = min(fewer, told.body["counts"][-1])
        counts = [told.body["counts"][-1] - fewer]
        body = {**told.body, "stay": stay, "counts": counts}
        self._tell("batch_moved", body, at, by=self.ground.other)
        batch.alive -= fewer
        batch.moved_by = None
        if other_name:
            batch.stay = stay

    def split(self, batch: Batch, count: int, at: float) -> list[Batch]:
        """So many go to another place, the rest stays where all were."""
        there = Batch(self._name(), count, self._name(), self.free.pop(0))
        here = Batch(self._name(), batch.alive - count, self._name(), batch.place)
        parts = [
            {"batch": one.uid, "count": one.alive, "stays_here": one is here, **_stands(one)}
            for one in (here, there)
        ]
        self._tell("batch_split", {"batch": batch.uid, "parts": parts}, at)
        self._passed_on(batch)
        self.batches += [here, there]
        return [here, there]

    def join(self, batch: Batch, other: Batch, at: float) -> Batch:
        """The other ones come to where these are."""
        alive = batch.alive + other.alive
        joined = Batch(self._name(), alive, self._name(), batch.place)
        body = {
            "members": [batch.uid, other.uid],
            "batch": joined.uid,
            "came_in": [other.uid],
            "told_apart": False,
            **_stands(joined),
        }
        self._tell("batches_joined", body, at)
        self.free.append(other.place)
        self._passed_on(batch)
        self._passed_on(other)
        self.batches.append(joined)
        return joined

    def lose(self, batch: Batch, count: int, at: float) -> UUID:
        batch.alive -= count
        return self._lost(batch, count, at)

    def lose_mistyped(self, batch: Batch, count: int, at: float) -> None:
        """So many died, one more was typed, and that was put right an hour later."""
        batch.alive -= count
        uid = self._lost(batch, count + 1, at)
        body = {"of": uid, "field": "/count", "old": count + 1, "new": count}
        self._tell("fact_corrected", body, at + 1)

    def lose_nobody(self, batch: Batch, at: float) -> None:
        """A loss that was none, taken back by somebody else."""
        uid = self._lost(batch, 1, at)
        self._tell("fact_withdrawn", {"of": uid}, at + 1, by=self.ground.other)

    def miss(self, batch: Batch, count: int, at: float) -> None:
        batch.alive -= count
        container = batch.place[0]
        body = {"batch": batch.uid, "count": count, "container": container}
        uid = self._tell("missing_recorded", body, at)
        self.missing.append(Missing(batch, uid, count, container))

    def find(self, at: float, alive: bool) -> None:
        """Those missed last, where their batch is; once that is another one, dead."""
        one = self.missing.pop()
        alive = alive and one.batch in self.batches
        one.batch.alive += one.count if alive else 0
        where = one.batch.place[0]
        body = {"of": one.uid, "count": one.count, "container": where, "alive": alive}
        self._tell("found_again", body, at)

    def bear(self, batch: Batch, count: int, at: float) -> None:
        batch.alive += count
        self._tell("born_here", {"batch": batch.uid, "count": count, "estimated": False}, at)

    def send(self, batch: Batch, count: int, at: float) -> None:
        batch.alive -= count
        dispatch = self._name()
        body = {"dispatch": dispatch, "batch": batch.uid, "count": count}
        self._tell("animals_dispatched", body, at)
        self.sent.append((batch, dispatch))

    def take_back(self, at: float) -> None:
        _, dispatch = self.sent.pop()
        self._tell("animals_returned", {"dispatch": dispatch, "count": 1, "state": "-"}, at)

    def count(self, batch: Batch, at: float) -> None:
        self._tell("counted", {"batch": batch.uid, "counts": [batch.alive]}, at)

    def see_sign(self, batch: Batch, at: float, confirmed: bool) -> None:
        body = {"batch": batch.uid, "signs": ["spots"], "affected": 1}
        uid = self._tell("sign_seen", body, at)
        if confirmed:
            self._tell("confirmed", {"of": uid}, at + 1, by=self.ground.other)

    def touch(self, batch: Batch, other: Batch, at: float) -> None:
        body = {"from": other.place[0], "to": batch.place[0], "way": "tool"}
        self._tell("contact_seen", body, at)

    def empty(self, container: UUID, at: float) -> None:
        self._tell("emptied", {"container": container, "searched": True}, at)

    def clean(self, container: UUID, at: float) -> None:
        """Disinfected for an hour, and an hour later seen dry."""
        body = {
            "subjects": [container],
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": self._at(at - 1),
            "ended_at": self._at(at),
            "rinsed": True,
        }
        self._tell("disinfected", body, at)
        self._tell("seen_dry", {"subjects": [container]}, at + 1)

    def deliver(self, order: Iterable[int], repeats: Iterable[int] = ()) -> None:
        """Tell everything in this order, some of it twice, under the same request keys."""
        for n in (*order, *repeats):
            at, told, person = self.told[n]
            door: Door[None] = Door(
                load=lambda log: None,
                ask=lambda world: (),
                tell=lambda world, told=told: (told,),  # type: ignore[misc]
                show=lambda world: {},
            )
            enter(self._asking(n, at, person), self.ground.shop.site, door)

    def _asking(self, n: int, at: datetime, person: Person) -> Asking:
        device = self.ground.devices[n % len(self.ground.devices)]
        return Asking(
            person=person,
            key=f"story-{n}",
            question=f"story-{n}",
            now=self.now,
            performed_at=at,
            standing=Standing.HAPPENED,
            device=DeviceEntry(device, n, at, 0),
        )

    def _lost(self, batch: Batch, count: int, at: float) -> UUID:
        body = {
            "batch": batch.uid,
            "fate": "dead",
            "count": count,
            "cause": ["unknown"],
            "certainty": "certain",
            "found_at": self._at(at),
        }
        return self._tell("loss_recorded", body, at)

    def _passed_on(self, batch: Batch) -> None:
        self.batches = [one for one in self.batches if one is not batch]

    def _name(self) -> UUID:
        return uuid5(NAMES, str(next(self.numbers)))

    def _at(self, hours: float) -> datetime:
        return START + timedelta(seconds=round(hours * 3600))

    def _tell(
        self, kind: str, body: dict[str, Any], at: float, by: Person | None = None
    ) -> UUID:
        uid = self._name()
        person = by or self.ground.shop.manager
        self.told.append((self._at(at), Told(kind, body, uid=uid), person))
        return uid


def _stands(batch: Batch) -> dict[str, UUID]:
    container, kit = batch.place
    return {"stay": batch.stay, "container": container, "kit": kit}


def _move(batch: Batch, ended: UUID, missing: int) -> dict[str, Any]:
    return {
        "batch": batch.uid,
        "ended_stay": ended,
        "counts": [batch.alive],
        "missing": missing,
        "readings": [],
        "searched": None,
        **_stands(batch),
    }
