"""What ammonia and oxygen will be in a container over a stay. For planning only."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil

from protocols.handling import Handled
from protocols.stocking_values import oxygen_use_mg_h
from protocols.water import (
    nh3_fraction,
    o2_percent_saturation,
    o2_saturation_mg_l,
    pressure_from_altitude_hpa,
    tan_accumulated_mg_l,
    tan_after_water_change_mg_l,
)
from protocols.water.ph import PhScale

DAY_H = 24.0
# What animals that get no food still give off, as a part of what fed ones do (0.2 to 0.3).
FASTED = 0.25
# Not fed on the day they arrive, half on a day they are moved (trade norm).
ARRIVAL, MOVED, FED = 0.0, 0.5, 1.0
# Exchange with the air in 1/h, for planning: an air stone and the surface, the surface alone.
AERATED, STILL = 2.0, 0.3
OXYGEN_CRITICAL_MG_L = 4.0


@dataclass(frozen=True, slots=True)
class Animals:
    """So many of one kind: mass of one in g, dry food in % of it a day, protein of the food."""

    count: int
    mass_g: float
    feed_percent_day: float
    protein_fraction: float
    name: str = ""
    minded: frozenset[Handled] = frozenset()
    mass_error: float = 0.0

    def times(self, count: int) -> "Animals":
        return replace(self, count=count)


@dataclass(frozen=True, slots=True)
class Conditions:
    """The water they are to be in. `assumed` names what nobody has measured."""

    volume_l: float
    temperature_c: float
    salinity: float
    ph: float
    ph_scale: PhScale = "NBS"
    altitude_m: float = 0.0
    exchange_per_h: float = AERATED
    tan_mg_l: float = 0.0
    assumed: tuple[str, ...] = ()

    @property
    def nh3_fraction(self) -> float:
        """The part of the total ammonia that is NH3, 0 to 1."""
        return float(
            nh3_fraction(
                ph=self.ph,
                ph_scale=self.ph_scale,
                temperature_c=self.temperature_c,
                salinity=self.salinity,
            )
        )


@dataclass(frozen=True, slots=True)
class Change:
    """So many hours in, a part of the water (0 to 1) is changed for new."""

    after_h: float
    fraction: float
    source_tan_mg_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """How long they stay, what part of the ration they get in the first 24 h, when water is
    changed."""

    hours: float
    first_day: float = MOVED
    changes: tuple[Change, ...] = ()
    ration: float = 1.0


@dataclass(frozen=True, slots=True)
class Point:
    """Total ammonia and NH3, both in mg/L as N, so many hours in."""

    hour: float
    tan_mg_l: float
    nh3_n_mg_l: float


@dataclass(frozen=True, slots=True)
class Oxygen:
    """What oxygen settles at in mg/L, against saturation at this height; and what is used.

    `without_air_h`: until it is critical (4 mg/L) once no air reaches the water.
    """

    saturation_mg_l: float
    expected_mg_l: float
    percent: float
    demand_mg_h: float
    without_air_h: float | None


def forecast(animals: Sequence[Animals], water: Conditions, plan: Plan) -> tuple[Point, ...]:
    """Ammonia at every hour of the stay; where water is changed, before and after it.

    Excretion from food by Timmons & Ebeling (0.092 of the protein), as a daily mean: after a
    meal it is higher for 4 to 8 h. Nothing is taken out by bacteria or air, the pH stays: in
    truth it falls, so this is on the careful side. Raises ValueError for what cannot be.
    """
    return tuple(_points(animals, water, plan, hourly=True))


def corners(animals: Sequence[Animals], water: Conditions, plan: Plan) -> tuple[Point, ...]:
    """The same only where the line bends: at its ends, after 24 h, at changes of water."""
    return tuple(_points(animals, water, plan, hourly=False))


def _points(
    animals: Sequence[Animals], water: Conditions, plan: Plan, *, hourly: bool
) -> Iterator[Point]:
    share, tan, now = water.nh3_fraction, water.tan_mg_l, 0.0
    yield Point(now, tan, tan * share)
    changes = [one for one in plan.changes if 0 <= one.after_h <= plan.hours]
    bends = {plan.hours, *(one.after_h for one in changes)}
    for stop in sorted(bends | ({DAY_H} if plan.hours > DAY_H else set())):
        between = range(int(now) + 1, ceil(stop)) if hourly else ()
        for hour in (*between, stop):
            if hour > now:
                found = _given_off(animals, water, plan, tan, now, hour)
                yield Point(float(hour), found, found * share)
        tan = _given_off(animals, water, plan, tan, now, stop)
        now = stop
        for one in changes:
            if one.after_h == stop:
                tan = _changed(tan, one)
                yield Point(stop, tan, tan * share)


def _changed(tan: float, change: Change) -> float:
    return float(
        tan_after_water_change_mg_l(
            tan_mg_l=tan,
            fraction=change.fraction,
            source_tan_mg_l=change.source_tan_mg_l,
        )
    )


def _given_off(
    animals: Sequence[Animals],
    water: Conditions,
    plan: Plan,
    tan: float,
    begins: float,
    ends: float,
) -> float:
    """Total ammonia after these hours, all of them on one day of the stay."""
    part = max(plan.ration * (plan.first_day if begins < DAY_H else FED), FASTED)
    for one in animals:
        tan = float(
            tan_accumulated_mg_l(
                fish_mass_g=one.count * one.mass_g,
                feed_percent_bw_day=one.feed_percent_day * part,
                protein_fraction=one.protein_fraction,
                hours=ends - begins,
                volume_l=water.volume_l,
                initial_tan_mg_l=tan,
            )
        )
    return tan


def peak(points: Sequence[Point]) -> Point:
    """When NH3 is highest, the first time."""
    return max(points, key=lambda one: (one.nh3_n_mg_l, -one.hour))


def reaches(points: Sequence[Point], nh3_n_mg_l: float) -> float | None:
    """The hour from which NH3 is at or above a level, on the straight line between two points.

    None if it never is.
    """
    before = None
    for one in points:
        if one.nh3_n_mg_l >= nh3_n_mg_l:
            if before is None or before.hour == one.hour:
                return one.hour
            rise = one.nh3_n_mg_l - before.nh3_n_mg_l
            share = (nh3_n_mg_l - before.nh3_n_mg_l) / rise
            return before.hour + share * (one.hour - before.hour)
        before = one
    return None


def saturation(water: Conditions) -> float:
    """Oxygen in mg/L that this water holds at this height over the sea."""
    return float(
        o2_saturation_mg_l(
            temperature_c=water.temperature_c,
            salinity=water.salinity,
            pressure_hpa=pressure_from_altitude_hpa(altitude_m=water.altitude_m),
        )
    )


def demand(animals: Sequence[Animals], temperature_c: float) -> float:
    """Oxygen that they use together, in mg/h."""
    return sum(
        one.count * oxygen_use_mg_h(one.mass_g, temperature_c) for one in animals if one.count
    )


def oxygen(animals: Sequence[Animals], water: Conditions) -> Oxygen:
    """What oxygen settles at: as much comes in from the air as they use.

    The exchange with the air is a planning value; measure where it matters.
    """
    full, used = saturation(water), demand(animals, water.temperature_c)
    left = max(full - used / (water.exchange_per_h * water.volume_l), 0.0)
    spare = max(left - OXYGEN_CRITICAL_MG_L, 0.0) * water.volume_l
    share = o2_percent_saturation(
        do_mg_l=left,
        temperature_c=water.temperature_c,
        salinity=water.salinity,
        pressure_hpa=pressure_from_altitude_hpa(altitude_m=water.altitude_m),
    )
    return Oxygen(full, left, float(share), used, spare / used if used else None)


# Oxygen is to settle at so much of saturation at least; about 5.4 mg/L at the sea.
OXYGEN_LEAST_PERCENT = 80.0


def room_for_oxygen(water: Conditions) -> float:
    """How much they may use together in mg/h so that enough is left."""
    full = saturation(water)
    least = max(full * OXYGEN_LEAST_PERCENT / 100, OXYGEN_CRITICAL_MG_L)
    return max(full - least, 0.0) * water.exchange_per_h * water.volume_l
