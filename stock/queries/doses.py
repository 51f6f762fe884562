"""What was given into water, under which version, and where its clock stands."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols.library.giving import Animals, WaterWith, agents_in
from protocols.library.in_range import InRange, in_range
from protocols.library.meeting import WaterNow
from protocols.library.values import Agent, Treatment
from protocols.order import happenings
from protocols.values import Happening, Reading, RulesHistory
from protocols.versions import UnknownProtocol
from stock.judging.doses import animals_of
from stock.judging.facts import facts_about
from stock.judging.words import words_about
from stock.models import Batch, Container, Kin, Origin, StayRow
from stock.queries.numbers import numbers_of
from stock.queries.origins import LINEAGE
from stock.queries.protocols import version_of

ANY_TIME = RulesHistory(())
# After these the water with everything in it is gone.
EMPTIES = ("emptied", "disinfected")
# What was given longer ago than this is not looked for: no course lasts as long.
LOOKED_BACK = timedelta(days=60)
# How old a measurement of the water may be to say what it is now.
FRESH = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Course:
    """One version given to a batch: when what was given, and its clock if it has one."""

    by: Treatment
    doses: tuple[Happening, ...]
    clock: InRange | None
    at: datetime

    @property
    def began(self) -> datetime:
        return self.doses[0].when.earliest

    @property
    def last(self) -> datetime:
        return self.doses[-1].when.latest

    @property
    def lasts_until(self) -> datetime:
        """The earliest end: where a clock runs, if every hour from now on counts."""
        if self.clock is not None:
            return self.clock.done_at or self.at + self.clock.left
        return self.last + self.by.times.least

    @property
    def next_from(self) -> datetime | None:
        """When the next dose may be given at the earliest, while some are to come."""
        apart = self.by.times.apart_least
        return self.last + apart if apart and len(self.doses) < self.by.times.doses else None


def sharing_water(container: Container) -> frozenset[UUID]:
    """The container and those of its system. One query at most."""
    if container.system_id is None:
        return frozenset({container.uid})
    rows = Container.objects.filter(system=container.system_id)
    return frozenset({container.uid, *rows.values_list("uid", flat=True)})


def _sharing(containers: Iterable[Container]) -> dict[UUID, frozenset[UUID]]:
    """Each with those of its system, itself among them. One query."""
    rows = {row.uid: row.system_id for row in containers}
    systems = {system for system in rows.values() if system is not None}
    shared: dict[UUID | None, set[UUID]] = {}
    for uid, system in Container.objects.filter(system__in=systems).values_list(
        "uid", "system"
    ):
        shared.setdefault(system, set()).add(uid)
    return {uid: frozenset({uid, *shared.get(system, ())}) for uid, system in rows.items()}


def animals_in(containers: Collection[UUID], at: datetime) -> tuple[Animals, ...]:
    """Whose animals stand in these containers at a moment, by species. Three queries."""
    stays = StayRow.objects.filter(container__in=containers, began_earliest__lte=at)
    batches = set(
        stays.filter(Q(ended_latest=None) | Q(ended_latest__gt=at)).values_list(
            "batch", flat=True
        )
    )
    kin = Kin.objects.filter(batch__in=batches, how__in=LINEAGE).values_list("of", flat=True)
    rows = Origin.objects.filter(batch__in={*batches, *kin}).select_related("line__species")
    return animals_of(row.line for row in rows)


def water_with(containers: Collection[UUID], organisation: UUID, at: datetime) -> WaterWith:
    """The water of these containers: its newest readings, and what was put into it."""
    newest = {
        quantity: _newest(numbers_of(containers, quantity, begins=at - FRESH, at=at).values())
        for quantity in ("temperature", "oxygen_saturation", "salinity")
    }
    told = _given(containers, at)
    before: set[Agent] = set()
    for one in told:
        before |= _agents(one, organisation)
    return WaterWith(
        now=WaterNow(
            temperature_c=newest["temperature"], oxygen_percent=newest["oxygen_saturation"]
        ),
        salinity=newest["salinity"],
        before=frozenset(before),
    )


def courses_of(batch: Batch, organisation: UUID, at: datetime) -> tuple[Course, ...]:
    """What was given to a batch up to `at` under a version, the newest course first."""
    kin = Kin.objects.filter(batch=batch, how__in=LINEAGE).values_list("of", flat=True)
    stays = list(
        StayRow.objects.filter(batch__in=[batch.uid, *kin], began_earliest__lte=at)
        .select_related("container")
        .order_by("began_earliest")
    )
    water = _sharing([row.container for row in stays])
    told = _told({uid for shared in water.values() for uid in shared}, at)
    by_key: dict[str, list[Happening]] = {}
    for one in told:
        if "protocol" in one.body and _was_there(one, stays, water, at):
            by_key.setdefault(f"{one.body['protocol']}@{one.body['version']}", []).append(one)
    found = [_course(key, doses, stays, organisation, at) for key, doses in by_key.items()]
    known = (one for one in found if one is not None)
    return tuple(sorted(known, key=lambda one: one.began, reverse=True))


def _course(
    key: str,
    doses: list[Happening],
    stays: Iterable[StayRow],
    organisation: UUID,
    at: datetime,
) -> Course | None:
    by = version_of(organisation, key).found
    if not isinstance(by, Treatment):
        return None
    clock = None
    if by.clock is not None:
        began = doses[0].when.earliest
        readings = _readings(stays, by.clock.quantity, began, at)
        clock = in_range(readings, by.clock, began=began, at=at)
    return Course(by, tuple(doses), clock, at)


def _readings(
    stays: Iterable[StayRow], quantity: str, began: datetime, at: datetime
) -> list[Reading]:
    """What was read wherever the animals were then, by time. One query."""
    stays = list(stays)
    containers = {row.container_id for row in stays}
    numbers = numbers_of(containers, quantity, begins=began, at=at)
    found = {
        one.uid: one
        for row in stays
        for one in numbers[row.container_id]
        if row.began_earliest <= one.at <= (row.ended_latest or at)
    }
    return sorted(found.values(), key=lambda one: (one.at, one.uid))


def _was_there(
    one: Happening,
    stays: Iterable[StayRow],
    water: Mapping[UUID, frozenset[UUID]],
    at: datetime,
) -> bool:
    where, when = UUID(one.body["container"]), one.when.latest
    return any(
        where in water[row.container_id]
        and row.began_earliest <= when <= (row.ended_latest or at)
        for row in stays
    )


def _told(containers: Collection[UUID], at: datetime, *more: str) -> tuple[Happening, ...]:
    """Doses (and `more` kinds) in these containers as they are told now, by time."""
    found = facts_about(containers, kinds=("dose_given", *more), parked=False)
    told = {one.uid: one for facts in found.values() for one in facts}
    return happenings([*told.values(), *words_about(told)], at=at, rules=ANY_TIME)


def _given(containers: Collection[UUID], at: datetime) -> list[Happening]:
    """Doses whose water is there still."""
    found: list[Happening] = []
    for one in _told(containers, at, *EMPTIES):
        if one.kind == "dose_given":
            found.append(one)
        else:
            gone = set(one.body["subjects"]) if "subjects" in one.body else set()
            gone.add(one.body.get("container", ""))
            found = [each for each in found if each.body["container"] not in gone]
    return [one for one in found if one.when.latest >= at - LOOKED_BACK]


def _agents(one: Happening, organisation: UUID) -> frozenset[Agent]:
    if "protocol" in one.body:
        key = f"{one.body['protocol']}@{one.body['version']}"
        try:
            found = version_of(organisation, key).found
        except UnknownProtocol:
            found = None
        if isinstance(found, Treatment):
            return frozenset(found.agents)
    return agents_in(one.body["product"])


def _newest(found: Iterable[list[Reading]]) -> Any:
    every = [one for readings in found for one in readings]
    return max(every, key=lambda one: one.at).value if every else None


def shown_course(one: Course) -> dict[str, Any]:
    clock = one.clock
    shown: dict[str, Any] = {
        "protocol": one.by.key,
        "title": one.by.title,
        "began_at": one.began,
        "lasts_until": one.lasts_until,
        "next_from": one.next_from,
        "doses": [
            {
                "fact": str(each.uid),
                "at": each.when.earliest,
                "product": each.body["product"],
                "amount": each.body["amount"],
                "unit": each.body["unit"],
            }
            for each in one.doses
        ],
        "stop_signs": list(one.by.stop_signs),
        "clock": None,
    }
    if clock is not None and one.by.clock is not None:
        shown["clock"] = {
            "quantity": one.by.clock.quantity,
            "range": [str(one.by.clock.allowed.least), str(one.by.clock.allowed.most)],
            "unit": one.by.clock.unit,
            "counted_s": _s(clock.counted),
            "outside_s": _s(clock.outside),
            "unknown_s": _s(clock.unknown),
            "left_s": _s(clock.left),
            "counts_from": clock.counts_from,
            "restarts": clock.restarts,
            "done_at": clock.done_at,
            "needs_reading_by": clock.needs_reading_by,
            "newest": clock.newest and str(clock.newest.value),
        }
    return shown


def _s(value: timedelta) -> int:
    return int(value.total_seconds())
