"""From what is on record of a batch to the inputs of the model, read cautiously."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.carryover.inputs import whole_hour
from protocols.carryover.parameters import DEFAULT_LOAD, DEFAULT_PRIOR_CYSTS
from protocols.judged import Readiness, State

HOUR = timedelta(hours=1)
# Of a carcass nobody says when it died: as if since half a day.
UNSEEN = timedelta(hours=12)
UNREAD_C = 25.0
DRY = frozenset({State.DRYING, State.READY})


@dataclass(frozen=True, slots=True)
class Found:
    """A container or kit as the animals met it, and who was in it before them."""

    readiness: Readiness
    left_at: datetime | None  # None where nobody was ever in it
    prior_cysts: float | None  # None where nobody knows


@dataclass(frozen=True, slots=True)
class Stood:
    """One container in which the animals stood; lights as local hours of day."""

    stay: UUID
    began: datetime
    volume_l: float
    lights_on_h: float
    lights_off_h: float
    water_ml: float = 0.0
    found: tuple[Found, ...] = ()


@dataclass(frozen=True, slots=True)
class Lost:
    """So many found dead, or gone otherwise."""

    count: int
    dead: bool
    found_at: datetime
    last_seen_at: datetime | None


@dataclass(frozen=True, slots=True)
class CameIn:
    """So many joined; `load` is their expected number of parasites each, if it is known."""

    at: datetime
    fish: int
    load: float | None


@dataclass(frozen=True, slots=True)
class Recorded:
    """One batch up to `at`; `alive` are there now. Readings are (moment, C), by time."""

    at: datetime
    zone: ZoneInfo
    alive: int
    stood: Sequence[Stood]
    lost: Sequence[Lost] = ()
    came_in: Sequence[CameIn] = ()
    temperatures: Sequence[tuple[datetime, float]] = ()


def inputs_of(known: Recorded) -> dict[str, Any]:
    """The inputs as JSON, up to the last whole hour.

    The number at the start is that of those alive now and those lost since: whoever was split
    off took their share of everything with them. Raises IndexError where nobody ever stood.
    """
    began = known.stood[0].began
    end = max((known.at - began) // HOUR, 0)
    stays = _stays(known, began, end)
    end = int(stays[-1]["end_h"])
    deaths, unknown = _deaths(known, began, end)
    joins = [_join(each, began, end) for each in known.came_in]
    local = began.astimezone(known.zone)
    assumed = {"load"}
    assumed |= {"death_hour"} if unknown else set()
    assumed |= {"temperature"} if not known.temperatures else set()
    found = [each for stood in known.stood for each in stood.found]
    if any(each.left_at and each.prior_cysts is None for each in found):
        assumed.add("prior_cysts")
    return {
        "fish": max(known.alive + len(deaths) - sum(each["fish"] for each in joins), 1),
        "parasites_per_fish": DEFAULT_LOAD,
        "start_clock_h": round(local.hour + local.minute / 60, 2),
        "lights_on_h": known.stood[0].lights_on_h,
        "lights_off_h": known.stood[0].lights_off_h,
        "temperature_c": _temperatures(known, began),
        "stays": stays,
        "deaths": deaths,
        "joins": joins,
        "exposure": [],
        "assumed": sorted(assumed),
    }


def _hours(moment: datetime, began: datetime) -> float:
    return round((moment - began) / HOUR, 3)


def _stays(known: Recorded, began: datetime, end: int) -> list[dict[str, Any]]:
    """Stays on the grid of hours. One that was over within its hour goes into the next."""
    stays: list[dict[str, Any]] = []
    for n, stood in enumerate(known.stood):
        start = whole_hour(_hours(stood.began, began))
        stay: dict[str, Any] = {
            "stay": str(stood.stay),
            "start_h": start,
            "volume_l": stood.volume_l,
            "water_carried_ml": stood.water_ml if n else 0.0,
            "lights_on_h": stood.lights_on_h,
            "lights_off_h": stood.lights_off_h,
            "gear": [each for found in stood.found for each in _gear(found, stood.began)],
        }
        if stays and stays[-1]["start_h"] == start:
            before = stays.pop()
            stay["gear"] = before["gear"] + stay["gear"]
            stay["water_carried_ml"] = before["water_carried_ml"]
        stays.append(stay)
    starts = [each["start_h"] for each in stays]
    for stay, until in zip(stays, [*starts[1:], max(end, starts[-1])], strict=True):
        stay["end_h"] = until
    return stays


def _gear(found: Found, met_at: datetime) -> Iterator[dict[str, Any]]:
    """What may have brought something: used before, and not ready when they met it."""
    condition = found.readiness
    if condition.is_ready or found.left_at is None or found.left_at > met_at:
        return
    dry = condition.state in DRY and condition.since is not None
    dry_h = _hours(met_at, condition.since) if dry and condition.since else 0.0
    prior = DEFAULT_PRIOR_CYSTS if found.prior_cysts is None else found.prior_cysts
    yield {
        "prior_cysts": round(prior, 6),
        "hours_since_use": _hours(met_at, found.left_at),
        "disinfected": condition.state in DRY or condition.state is State.DISINFECTED,
        "dry_h": max(dry_h, 0.0),
    }


def _deaths(known: Recorded, began: datetime, end: int) -> tuple[list[dict[str, Any]], bool]:
    """One for each animal lost, and whether the hour of one is unknown.

    It died in the middle between when it was seen last and when it was found. Who went alive
    took its parasites with it.
    """
    deaths: list[dict[str, Any]] = []
    unknown = False
    for lost in known.lost:
        died = lost.found_at
        if lost.dead:
            unknown |= lost.last_seen_at is None
            seen = lost.last_seen_at or lost.found_at - UNSEEN
            died = max(seen + (lost.found_at - seen) / 2, began)
        hour = min(max(_hours(died, began), 0.0), float(end))
        lay = max(_hours(lost.found_at, died), 0.0)
        deaths += [{"hour": hour, "removed_after_h": lay}] * lost.count
    return sorted(deaths, key=lambda each: each["hour"]), unknown


def _join(came: CameIn, began: datetime, end: int) -> dict[str, Any]:
    return {
        "hour": min(max(_hours(came.at, began), 0.0), float(end)),
        "fish": came.fish,
        "parasites_per_fish": DEFAULT_LOAD if came.load is None else round(came.load, 9),
    }


def _temperatures(known: Recorded, began: datetime) -> list[list[float]]:
    """Readings by hour, the last of those at one moment; 25 C where there is none."""
    read: Mapping[float, float] = {
        _hours(moment, began): celsius for moment, celsius in known.temperatures
    }
    return [[hour, read[hour]] for hour in sorted(read)] or [[0.0, UNREAD_C]]
