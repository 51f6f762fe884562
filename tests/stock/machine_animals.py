"""What people tell of animals: received, placed, moved, lost, missed, counted, handed over."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule

from protocols.values import Standing
from stock.doors.batches import PlaceAsked, place_batch
from stock.doors.counts import (
    count_batch,
    find_again,
    presume_lost,
    record_birth,
    record_missing,
)
from stock.doors.leaving import DispatchAsked, dispatch_animals, take_back
from stock.doors.losses import LossLine, record_losses
from stock.doors.measured import Value
from stock.doors.moves import MoveAsked, may_move_now, move_batch
from stock.doors.probes import take_series
from stock.doors.readings import Series, take_readings
from stock.models import Balance, Container, Dispatch, Instrument, Kit, Line, Missing, StayRow
from stock.models.counts import FATES
from tests.make import make_line
from tests.stock.machine import CLEAN, HOUR, Ground, How, few, hows, which

# Counts typed by somebody who sees so many alive.
TYPED: dict[str, Callable[[int], tuple[int, ...]]] = {
    "right": lambda alive: (alive,),
    "one less, twice": lambda alive: (alive - 1, alive - 1),
    "one more": lambda alive: (alive + 1,),
    "none": lambda alive: (0,),
}
PROTOCOLS = ("transfer-288@1", "transfer-276@1", "transfer-1@1")


def typed_of(alive: int, typed: str) -> tuple[int, ...]:
    return tuple(max(one, 0) for one in TYPED[typed](alive))


class Animals(Ground):
    @initialize(moves=st.integers(0, 6), hours=st.sampled_from([0, 24, 72]))
    def begin(self, moves: int, hours: int) -> None:
        """A batch that got so far without any fault, and one that has just come."""
        self.make_ready()
        self.now += 25 * HOUR
        self._place(CLEAN, 0, 0, 10)
        for n in range(1, moves + 1):
            self.now += 71 * HOUR
            self._log(6)
            self._move(CLEAN, n, n, (10,))
            self.make_ready()
        self.now += hours * HOUR
        self._place(CLEAN, moves + 1, moves + 1, 6)

    def _place(self, how: How, container: int, kit: int, count: int) -> None:
        target = self.uids(Container)[container % 4]
        self.tell(how, take_readings, site=self.site.uid, values=self.water(target))
        asked = PlaceAsked(
            sources=((make_line(self.shop, count, at=self.now), count),),
            container=target,
            kit=self.uids(Kit)[kit % 3],
            counts=(count,),
            protocol=PROTOCOLS[0],
        )
        self.tell(how, place_batch, site=self.site, asked=asked)

    def _move(self, how: How, container: int, kit: int, counts: tuple[int, ...]) -> None:
        stay = StayRow.objects.get(ended_latest=None)
        target = self.uids(Container)[container % 4]
        asked = MoveAsked(
            batch=stay.batch_id,
            ended_stay=stay.uid,
            container=target,
            kit=self.uids(Kit)[kit % 3],
            counts=counts,
            readings=self.water(stay.container_id, target),
        )
        self.tell(how, move_batch, site=self.site, asked=asked)

    def _log(self, times: int) -> None:
        """A probe's values in the container that is occupied, 12 hours apart, up to now."""
        stay = StayRow.objects.get(ended_latest=None)
        series = Series(
            probe=self.uids(Instrument)[0],
            quantity="temperature",
            unit="Cel",
            start=self.now - times * 12 * HOUR,
            step_s=12 * 3600,
            values=("25.0",) * (times + 1),
        )
        self.tell(CLEAN, take_series, container=stay.container_id, series=series)

    @rule(received=st.integers(1, 12), doa=few)
    def receive(self, received: int, doa: int) -> None:
        make_line(self.shop, received, min(doa, received), at=self.now)

    @rule(
        how=hows,
        line=which,
        container=which,
        kit=which,
        count=st.integers(1, 12),
        typed=st.sampled_from(sorted(TYPED)),
        protocol=st.sampled_from(PROTOCOLS),
    )
    def place(
        self,
        how: How,
        line: int,
        container: int,
        kit: int,
        count: int,
        typed: str,
        protocol: str,
    ) -> None:
        lines = list(Line.objects.order_by("version").values_list("uid", flat=True))
        asked = PlaceAsked(
            sources=((self.pick(lines, line), count),),
            container=self.pick(self.uids(Container), container),
            kit=self.pick([*self.uids(Kit), None], kit),
            counts=typed_of(count, typed),
            protocol=protocol,
        )
        self.tell(how, place_batch, site=self.site, asked=asked)

    @rule(
        how=hows,
        batch=which,
        stay=st.sampled_from([0, 0, 0, 1]),
        container=which,
        kit=which,
        typed=st.sampled_from(sorted(TYPED)),
        missing=st.sampled_from([0, 0, 0, 1]),
        measured=st.booleans(),
    )
    def move(
        self,
        how: How,
        batch: int,
        stay: int,
        container: int,
        kit: int,
        typed: str,
        missing: int,
        measured: bool,
    ) -> None:
        """Mostly out of the open stay; sometimes out of one that was ended before."""
        uid = self.batch(batch)
        stays = list(StayRow.objects.filter(batch=uid).order_by("began_latest", "uid"))
        if not stays:
            return
        ended = self.pick(stays, stay)
        target = self.pick(self.uids(Container), container)
        asked = MoveAsked(
            batch=uid,
            ended_stay=ended.uid,
            container=target,
            kit=self.pick([*self.uids(Kit), None], kit),
            counts=typed_of(self.alive(uid) - missing, typed),
            missing=missing,
            searched=None if missing else True,
            readings=self.water(ended.container_id, target) if measured else (),
        )
        reasons = self.asks(how, may_move_now, site=self.site, asked=asked)
        told = self.tell(how, move_batch, site=self.site, asked=asked)
        if how.standing is Standing.ASKED and told is not None and not how.insisting:
            assert not [reason for reason in reasons or () if reason.blocks]

    def alive(self, batch: UUID) -> int:
        rows = Balance.objects.filter(holder=batch, place="alive")
        return rows.values_list("n", flat=True).first() or 0

    def water(self, *containers: UUID) -> tuple[Value, ...]:
        """Both quantities that are compared, in each of these containers."""
        told = (("salinity", "33.0", "1"), ("temperature", "25.0", "Cel"))
        instrument = self.uids(Instrument)[0]
        return tuple(
            Value(one, *value, instrument=instrument) for one in containers for value in told
        )

    @rule(
        how=hows,
        batches=st.lists(which, min_size=1, max_size=2),
        fate=st.sampled_from(FATES[:4]),
        count=few,
        found_s=st.sampled_from([0, 3600, 50 * 3600, -3600]),
        seen_s=st.sampled_from([None, 7200, 60 * 3600]),
    )
    def lose(
        self,
        how: How,
        batches: list[int],
        fate: str,
        count: int,
        found_s: int,
        seen_s: int | None,
    ) -> None:
        lines = [
            LossLine(
                batch=uid,
                fate=fate,
                count=count,
                found_at=self.now - timedelta(seconds=found_s),
                last_seen_at=None if seen_s is None else self.now - timedelta(seconds=seen_s),
                certainty="seen",
            )
            for uid in (self.batch(n) for n in batches)
            if uid is not None
        ]
        if lines:
            self.tell(how, record_losses, lines=lines)

    @rule(how=hows, batch=which, count=few, container=which)
    def miss(self, how: How, batch: int, count: int, container: int) -> None:
        uid = self.batch(batch)
        where = self.pick([*self.uids(Container), None], container)
        if uid is not None:
            self.tell(how, record_missing, batch=uid, count=count, container=where)

    @rule(how=hows, missing=which, count=few, container=which, alive=st.booleans())
    def find(self, how: How, missing: int, count: int, container: int, alive: bool) -> None:
        uid = self.missing(missing)
        where = self.pick(self.uids(Container), container)
        if uid is not None:
            self.tell(how, find_again, missing=uid, count=count, container=where, alive=alive)

    @rule(how=hows, missing=which, count=few)
    def presume(self, how: How, missing: int, count: int) -> None:
        uid = self.missing(missing)
        if uid is not None:
            self.tell(how, presume_lost, missing=uid, count=count)

    def missing(self, n: int) -> Any:
        rows = Missing.objects.order_by("at", "count", "fact").values_list("fact", flat=True)
        return self.pick(list(rows), n)

    @rule(how=hows, batch=which, typed=st.sampled_from(sorted(TYPED)))
    def count(self, how: How, batch: int, typed: str) -> None:
        uid = self.batch(batch)
        if uid is not None:
            self.tell(how, count_batch, batch=uid, counts=typed_of(self.alive(uid), typed))

    @rule(how=hows, batch=which, count=few, estimated=st.booleans())
    def bear(self, how: How, batch: int, count: int, estimated: bool) -> None:
        uid = self.batch(batch)
        if uid is not None:
            self.tell(how, record_birth, batch=uid, count=count, estimated=estimated)

    @rule(how=hows, batch=which, count=few)
    def dispatch(self, how: How, batch: int, count: int) -> None:
        uid = self.batch(batch)
        if uid is not None:
            asked = DispatchAsked(batch=uid, count=count, buyer="a buyer")
            self.tell(how, dispatch_animals, asked=asked)

    @rule(how=hows, dispatch=which, count=few)
    def bring_back(self, how: How, dispatch: int, count: int) -> None:
        rows = list(Dispatch.objects.order_by("version"))
        found = self.pick(rows, dispatch)
        if found is not None:
            self.tell(
                how,
                take_back,
                batch=found.batch_id,
                count=count,
                state="alive",
                dispatch=found.uid,
            )

    @rule(hours=st.sampled_from([1, 12, 24, 48, 71, 72, 73, 150, 350]))
    def wait(self, hours: int) -> None:
        self.now += hours * HOUR
