"""The water in which a batch stands, as its page shows it: ammonia ahead, ranges behind."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from protocols.ammonia import FREE, TOTAL, Assessed, Dosed, binds_ammonia
from protocols.cover import Stretch, cover, stretches
from protocols.judged import Cover, Reading
from protocols.order import happenings
from protocols.ruled import Range, Rules
from protocols.stocking_forecast import (
    ARRIVAL,
    MOVED,
    Change,
    Conditions,
    Plan,
    Point,
    corners,
)
from protocols.stocking_plan import HOUR, WITHOUT_LIMIT, Stocked, stocked
from protocols.told import Happening, When
from stock.judging.ammonia import assessed_among, comparable
from stock.judging.facts import facts_about
from stock.judging.water import NEVER, NO_RULES
from stock.judging.words import words_about
from stock.judging.work_water import KnownWater
from stock.models import Container, WaterReading
from stock.queries.batch_seen import BatchSeen, StaySeen
from stock.queries.sites import rules_history
from stock.queries.stocking import kinds_of_origins, lengths_of, read_of, vessel_of

BEFORE = timedelta(hours=12)
READ = ("temperature", "salinity", "specific_gravity", "ph", TOTAL, FREE)
CARE = ("water_changed", "dose_given", "fed")
READINGS_MOST = 20_000
MOST_AHEAD = 240.0


@dataclass(frozen=True, slots=True)
class RangeSeen:
    """One quantity against its range during the stay so far."""

    name: str
    allowed: Range
    cover: Cover
    stretches: tuple[Stretch, ...]
    newest: Reading | None


@dataclass(frozen=True, slots=True)
class WaterSeen:
    """`planned` and `since` are the forecast from the placement, and from the last reading on.

    Hours are counted from `began`; `until` is the limit, or as far as it is planned.
    """

    began: datetime
    until: datetime
    now: datetime
    alarm_mg_l: float
    stocked: Stocked
    planned: tuple[Point, ...]
    since: tuple[Point, ...]
    error: float
    assessed: tuple[Assessed, ...]
    changes: tuple[Change, ...]
    fed: int
    ranges: tuple[RangeSeen, ...]


def batch_water(found: BatchSeen, at: datetime) -> WaterSeen | None:
    """The water of the open stay; None where there is none. Seven queries at most."""
    stay = found.open_stay
    if stay is None or at < stay.began:
        return None
    rows = _rows(stay, at)
    told = _care(stay, at)
    rules = rules_history(found.site.uid).at(at)
    container = Container.objects.get(uid=stay.container)
    ammonia = [row for row in rows if row.quantity in (TOTAL, FREE)]
    during = [row for row in ammonia if row.performed_at >= stay.began]
    lengths = lengths_of({one.line_id for one in found.origins})
    answer = stocked(
        kinds_of_origins(found.origins, lengths, found.counts.get("alive", 0)),
        vessel_of(container),
        read_of(KnownWater({row.quantity: row for row in rows}), at),
        rules=rules,
        protocol=found.version,
        arrival=len(found.stays) == 1,
    )
    assessed = assessed_among(during, rows, list(_binders(told)))
    changes = _changes(told, stay, container)
    return _seen(found, stay, at, answer, assessed, changes, told, rows, rules)


def _seen(
    found: BatchSeen,
    stay: StaySeen,
    at: datetime,
    answer: Stocked,
    assessed: Sequence[Assessed],
    changes: tuple[Change, ...],
    told: Sequence[Happening],
    rows: Sequence[WaterReading],
    rules: Rules,
) -> WaterSeen:
    until = max(stay.limit or stay.began + WITHOUT_LIMIT, at)
    hours = min((until - stay.began) / HOUR, MOST_AHEAD)
    planned, since = _forecasts(answer, assessed, changes, hours, stay, found)
    errors = [one.animals.mass_error for one in answer.kinds if one.animals]
    return WaterSeen(
        began=stay.began,
        until=stay.began + hours * HOUR,
        now=at,
        alarm_mg_l=float(rules.nh3_n_alarm_mg_l),
        stocked=answer,
        planned=planned,
        since=since,
        error=max(errors, default=0.0),
        assessed=tuple(assessed),
        changes=changes,
        fed=sum(one.kind == "fed" for one in told),
        ranges=tuple(_ranges(found, stay, at, rows)),
    )


def _forecasts(
    answer: Stocked,
    assessed: Sequence[Assessed],
    changes: tuple[Change, ...],
    hours: float,
    stay: StaySeen,
    found: BatchSeen,
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """From the placement, and from the newest reading on; empty where nothing is known."""
    animals = [one.animals for one in answer.kinds if one.animals]
    if not animals or len(animals) < len(answer.kinds) or answer.missing:
        return (), ()
    first_day = ARRIVAL if len(found.stays) == 1 else MOVED
    water = _clean(answer.water, 0.0)
    planned = corners(animals, water, Plan(hours, first_day, changes))
    if not assessed or water.nh3_fraction <= 0:
        return planned, ()
    last = assessed[-1]
    after = (last.at - stay.began) / HOUR
    later = tuple(
        Change(one.after_h - after, one.fraction) for one in changes if one.after_h > after
    )
    if hours <= after:
        return planned, ()
    from_there = _clean(answer.water, last.nh3_n_mg_l / water.nh3_fraction)
    # The ration of the first day is over, or what is left of it is fed in full: careful.
    points = corners(animals, from_there, Plan(hours - after, 1.0, later))
    return planned, tuple(Point(p.hour + after, p.tan_mg_l, p.nh3_n_mg_l) for p in points)


def _clean(water: Conditions, tan_mg_l: float) -> Conditions:
    return Conditions(
        volume_l=water.volume_l,
        temperature_c=water.temperature_c,
        salinity=water.salinity,
        ph=water.ph,
        ph_scale=water.ph_scale,
        altitude_m=water.altitude_m,
        exchange_per_h=water.exchange_per_h,
        tan_mg_l=tan_mg_l,
        assumed=water.assumed,
    )


def _rows(stay: StaySeen, at: datetime) -> list[WaterReading]:
    """What was read in the container from half a day before the stay, by time. One query."""
    rows = WaterReading.objects.filter(
        container=stay.container,
        quantity__in=READ,
        performed_at__gte=stay.began - BEFORE,
        performed_at__lte=at,
    )
    newest = rows.select_related("instrument").order_by("-performed_at", "-uid")
    return list(newest[:READINGS_MOST])[::-1]


def _care(stay: StaySeen, at: datetime) -> list[Happening]:
    """What was done to the water, as it is known now. Three queries at most."""
    facts = facts_about([stay.container], kinds=CARE, parked=False)
    told = {fact.uid: fact for found in facts.values() for fact in found}
    if not told:
        return []
    found = happenings([*told.values(), *words_about(told)], at=NEVER, rules=NO_RULES)
    return [one for one in found if stay.began - BEFORE <= one.when.latest <= at]


def _binders(told: Sequence[Happening]) -> Iterator[Dosed]:
    for one in told:
        body = one.body
        if one.kind == "dose_given" and binds_ammonia(
            body["product"], body.get("why"), body.get("binds_ammonia")
        ):
            yield Dosed(body["product"], one.when.latest)


def _changes(
    told: Sequence[Happening], stay: StaySeen, container: Container
) -> tuple[Change, ...]:
    litres = Decimal(container.fill_mark_l)
    return tuple(
        Change(
            (one.when.latest - stay.began) / HOUR,
            float(min(max(Decimal(one.body["volume_l"]) / litres, Decimal(0)), Decimal(1))),
        )
        for one in told
        if one.kind == "water_changed" and one.when.latest >= stay.began and litres > 0
    )


def _ranges(
    found: BatchSeen, stay: StaySeen, at: datetime, rows: Sequence[WaterReading]
) -> Iterator[RangeSeen]:
    version = found.version
    for name, names, allowed in (
        ("temperature", ("temperature",), version.temperature_c),
        ("salinity", ("salinity", "specific_gravity"), version.salinity),
    ):
        readings = [
            Reading(row.uid, row.container_id, name, value, row.performed_at)
            for row in rows
            if row.quantity in names and (value := comparable(row)) is not None
        ]
        span = When(stay.began, max(at, stay.began))
        yield RangeSeen(
            name,
            allowed,
            cover(readings, span, allowed=allowed),
            stretches(readings, span, allowed=allowed),
            readings[-1] if readings else None,
        )
