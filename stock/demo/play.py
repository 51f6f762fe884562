"""Playing the tales: what happens, in the order of time, through the doors."""

import heapq
import itertools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from protocols.intake import BoxCounted
from protocols.stocking_values import planned
from stock.demo.cast import ANIMALS, GRAMS_PER_LITRE
from stock.demo.floor import HOUR, Floor, asking
from stock.demo.tales import Tale
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.certificates import issue_certificate
from stock.doors.intake import LineAsked, count_line, deliver_consignment, enter_consignment
from stock.doors.leaving import DispatchAsked, dispatch_animals
from stock.doors.losses import LossLine, record_losses
from stock.doors.measured import Value
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.probes import take_series
from stock.doors.readings import Series, take_readings
from stock.doors.signs import place_hold, record_sign
from stock.models import Site, StayRow

WATER = (("temperature", "25.4", "Cel", "T-1"), ("salinity", "33.1", "1", "S-1"))
DAY = timedelta(days=1)
ROUND_DAYS = 3
PROBED_EVERY = timedelta(hours=6)
Act = Callable[[datetime], None]


@dataclass
class Stage:
    """A site in play: its floor, what species and suppliers it knows, and what comes next."""

    floor: Floor
    species: dict[str, UUID]
    suppliers: list[UUID]
    now: datetime
    coming: list[tuple[datetime, int, Act]] = field(default_factory=list)
    batches: dict[str, UUID] = field(default_factory=dict)
    standing: dict[str, tuple[str, str]] = field(default_factory=dict)
    alive: dict[str, int] = field(default_factory=dict)
    since: dict[str, datetime] = field(default_factory=dict)
    turn: Iterator[int] = field(default_factory=itertools.count)
    address: str = ""
    certificates: list[str] = field(default_factory=list)

    def plan(self, at: datetime, act: Act) -> None:
        heapq.heappush(self.coming, (at, next(self.turn), act))

    def play(self, tales: Iterable[Tale]) -> None:
        """Plan every tale, then let everything happen that lies in the past."""
        for tale in tales:
            self._plan_tale(tale)
        while self.coming and self.coming[0][0] <= self.now:
            at, _, act = heapq.heappop(self.coming)
            act(at)

    def check_instruments_weekly(self, since: datetime) -> None:
        at = since + 6 * DAY
        while at <= self.now:
            self.plan(at, self.floor.check)
            at += 6 * DAY

    def look_around_daily(self) -> None:
        """Rounds of the last days, the last of them this very hour."""
        for days in range(ROUND_DAYS, -1, -1):
            self.plan(self.now - days * DAY, self.floor.look_around)

    def probe_to_the_end(self) -> None:
        """Probes have sent until now wherever animals stand."""
        self.plan(self.now, self._probe_standing)

    def _probe_standing(self, at: datetime) -> None:
        for name, (container, _) in self.standing.items():
            if self.alive[name] and self.since[name] < at:
                self._probe(container, self.since[name], at)

    def _plan_tale(self, tale: Tale) -> None:
        placed = self.now - timedelta(hours=tale.placed_h_ago)
        self.plan(placed, lambda at: self._place(tale, at))
        last = len(tale.moved_after_h) - 1
        for n, hours in enumerate(tale.moved_after_h):
            missing = tale.missing if n == last else 0
            self.plan(placed + hours * HOUR, self._mover(tale, missing))
        for hours in tale.lost_after_h:
            self.plan(placed + hours * HOUR, lambda at: self._lose(tale, at))
        self._plan_turns(tale, placed)

    def _plan_turns(self, tale: Tale, placed: datetime) -> None:
        """What happens to some batches only: a sign, a hold, a certificate, a hand-over."""
        turns = (
            (tale.sign_after_h, self._see_sign),
            (tale.held_after_h, self._hold),
            (tale.certified_after_h, self._certify),
        )
        for hours, turn in turns:
            if hours is not None:
                self.plan(placed + hours * HOUR, self._turner(turn, tale))

    @staticmethod
    def _turner(turn: Callable[[Tale, datetime], None], tale: Tale) -> Act:
        return lambda at: turn(tale, at)

    def _see_sign(self, tale: Tale, at: datetime) -> None:
        record_sign(
            asking(self.floor.keeper(), at),
            batch=self.batches[tale.name],
            signs=["white spots"],
            affected=1,
        )

    def _hold(self, tale: Tale, at: datetime) -> None:
        why = "Scratching on the shelter: wait for the veterinarian."
        place_hold(asking(self.floor.manager, at), batch=self.batches[tale.name], why=why)

    def _certify(self, tale: Tale, at: datetime) -> None:
        made = issue_certificate(
            asking(self.floor.manager, at),
            site=self._site(),
            batch=self.batches[tale.name],
            count=self.alive[tale.name],
            address=self.address,
        )
        certificate = made.body["certificate"]
        self.certificates.append(str(certificate["url"]))
        if tale.dispatched:
            self.plan(at + DAY, lambda then: self._hand_over(tale, certificate["uid"], then))

    def _hand_over(self, tale: Tale, certificate: str, at: datetime) -> None:
        asked = DispatchAsked(
            batch=self.batches[tale.name],
            count=tale.dispatched,
            buyer="a shop in town",
            certificate=UUID(str(certificate)),
        )
        dispatch_animals(asking(self.floor.keeper(), at), asked=asked)
        self.alive[tale.name] -= tale.dispatched

    def _mover(self, tale: Tale, missing: int) -> Act:
        return lambda at: self._move(tale, missing, at)

    def _place(self, tale: Tale, at: datetime) -> None:
        floor, animal = self.floor, ANIMALS[tale.animal]
        litres = tale.count * animal.grams / GRAMS_PER_LITRE
        container, kit = floor.free(floor.litres, at, litres), floor.free(floor.pieces, at)
        keeper = floor.keeper()
        asked = PlaceAsked(
            sources=((self._receive(tale, at), tale.count),),
            container=floor.uids[container],
            kit=floor.uids[kit],
            counts=(tale.count,),
            protocol="transfer-288@1",
        )
        self._read([container], at)
        made = place_batch(asking(keeper, at), site=self._site(), asked=asked)
        self.batches[tale.name] = UUID(str(made.body["batch"]["uid"]))
        self.alive[tale.name] = tale.count
        self._stand(tale, container, kit, at)

    def _receive(self, tale: Tale, at: datetime) -> UUID:
        """A delivery of one line, with one dead on arrival where there are many."""
        doa = 1 if tale.count >= 20 else 0
        listed = tale.count + doa
        line = LineAsked(listed=listed, species=self.species[tale.animal])
        supplier = self.suppliers[len(self.batches) % len(self.suppliers)]
        told = asking(self.floor.manager, at - HOUR)
        made = enter_consignment(
            told, site=self.floor.site, supplier=supplier, waybill=None, lines=[line]
        )
        consignment = made.body["consignment"]
        uid = UUID(str(consignment["uid"]))
        deliver_consignment(
            asking(self.floor.manager, at - HOUR), uid=uid, delivered_at=at - HOUR
        )
        first = UUID(str(consignment["lines"][0]["uid"]))
        animal = ANIMALS[tale.animal]
        length = planned(animal.scientific_name).length_cm(animal.grams)
        count_line(
            asking(self.floor.keeper(), at),
            uid=first,
            count=BoxCounted(None, listed, doa),
            length_cm=f"{length:.1f}",
        )
        return first

    def _move(self, tale: Tale, missing: int, at: datetime) -> None:
        floor, batch = self.floor, self.batches[tale.name]
        before = self.standing[tale.name]
        self._probe(before[0], self.since[tale.name], at)
        litres = self.alive[tale.name] * ANIMALS[tale.animal].grams / GRAMS_PER_LITRE
        container, kit = floor.free(floor.litres, at, litres), floor.free(floor.pieces, at)
        self._read([before[0], container], at)
        self.alive[tale.name] -= missing
        asked = MoveAsked(
            batch=batch,
            ended_stay=StayRow.objects.get(batch=batch, ended_latest=None).uid,
            container=floor.uids[container],
            kit=floor.uids[kit],
            counts=(self.alive[tale.name],),
            missing=missing,
            searched=True,
        )
        move_batch(asking(floor.keeper(), at), site=self._site(), asked=asked)
        self._stand(tale, container, kit, at)
        # Where somebody is missing nothing is disinfected before it was searched.
        if not missing:
            self.plan(at + HOUR / 2, lambda then: floor.clean(before, then))

    def _probe(self, container: str, since: datetime, at: datetime) -> None:
        """What the container's probe kept of the temperature while the batch was there."""
        count = (at - since) // PROBED_EVERY + 1
        series = Series(
            probe=self.floor.uids["T-1"],
            quantity="temperature",
            unit="Cel",
            start=since,
            step_s=int(PROBED_EVERY.total_seconds()),
            values=tuple(f"{25.2 + 0.1 * (n % 4):.1f}" for n in range(count)),
        )
        keeper = self.floor.keeper()
        take_series(asking(keeper, at), container=self.floor.uids[container], series=series)

    def _stand(self, tale: Tale, container: str, kit: str, at: datetime) -> None:
        self.since[tale.name] = at
        self.standing[tale.name] = (container, kit)
        for label in (container, kit):
            self.floor.ready.pop(label, None)

    def _lose(self, tale: Tale, at: datetime) -> None:
        gone = LossLine(
            batch=self.batches[tale.name],
            fate="dead",
            count=1,
            cause=("unknown",),
            certainty="seen",
            found_at=at,
            last_seen_at=at - 10 * HOUR,
        )
        record_losses(asking(self.floor.keeper(), at), lines=[gone])
        self.alive[tale.name] -= 1

    def _read(self, containers: list[str], at: datetime) -> None:
        values = [
            Value(self.floor.uids[one], quantity, value, unit, self.floor.uids[instrument])
            for one in containers
            for quantity, value, unit, instrument in WATER
        ]
        take_readings(asking(self.floor.keeper(), at), site=self.floor.site, values=values)

    def _site(self) -> Site:
        return Site.objects.get(uid=self.floor.site)
