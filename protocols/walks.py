"""In which order the work of a shift is walked: by time left, then from clean to dirty.

Work of equal urgency is grouped by place, so that one walk serves many containers. Nothing
urgent waits for cleanliness: the order from clean to dirty counts inside one band alone.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum
from typing import TypeVar

from protocols.tasks import What, Work

T = TypeVar("T")
HOUR = timedelta(hours=1)
# From this move on a batch counts as further on than one in its first moves.
LATER_MOVES = 2


class Band(IntEnum):
    """How much time is left, in steps that a shift plans by; the most urgent first."""

    DANGER = 0
    OVER = 1
    OVER_PAPER = 2
    HOUR = 3
    FOUR_HOURS = 4
    HALF_DAY = 5
    DAY = 6
    LATER = 7
    NO_LIMIT = 8


class Dirt(IntEnum):
    """The order in which hands go from batch to batch: certified first, the sick last.

    After domain rules of quarantine rooms: certified, observation, later moves, early moves,
    new arrivals, sick (Yanong and Erlacher-Reid 2012).
    """

    CLEAN = 0
    CERTIFIED = 1
    OBSERVED = 2
    LATER_MOVES = 3
    EARLY_MOVES = 4
    ARRIVED = 5
    SICK = 6
    DIRTY = 7


@dataclass(frozen=True, slots=True)
class ToWalk:
    """One piece of work as far as its order needs it; no room: it is done anywhere."""

    work: Work
    dirt: Dirt
    room: str = ""
    rack: str = ""


@dataclass(frozen=True, slots=True)
class Walk:
    """Work of one band at one place, in order; `room` and `rack` are empty where places do not
    matter: in danger, over the limit, later than a day."""

    band: Band
    room: str
    rack: str
    items: tuple[int, ...]


def band_of(work: Work, at: datetime) -> Band:
    """How urgent work is at `at` (UTC). Exactly at a limit is not over it.

    Staff who are gone at the limit have to do it by the planned time, so the earlier of the two
    counts; over is only what is past its limit.
    """
    if work.first:
        return Band.DANGER
    if work.limit is not None and at > work.limit:
        return Band.OVER if work.what is What.MOVE else Band.OVER_PAPER
    due = _due(work)
    if due is None:
        return Band.NO_LIMIT
    for most, band in STEPS:
        if due - at <= most:
            return band
    return Band.LATER


STEPS = (
    (HOUR, Band.HOUR),
    (4 * HOUR, Band.FOUR_HOURS),
    (12 * HOUR, Band.HALF_DAY),
    (24 * HOUR, Band.DAY),
)


def dirt_of(work: Work, state: str | None, moves: int) -> Dirt:
    """How clean the hands stay: by the state of the batch, else by what is done.

    `state` is that of the batch in the container (None where none is), `moves` those it made.
    """
    if state is None:
        return Dirt.DIRTY if work.what in (What.DISINFECT, What.SEARCH) else Dirt.CLEAN
    if state == "moves":
        if moves == 0:
            return Dirt.ARRIVED
        return Dirt.LATER_MOVES if moves >= LATER_MOVES else Dirt.EARLY_MOVES
    return STATES.get(state, Dirt.SICK)


STATES = {"done": Dirt.CERTIFIED, "observation": Dirt.OBSERVED, "closed": Dirt.CLEAN}
# Where time alone counts, nobody walks by place.
BY_TIME = frozenset({Band.DANGER, Band.OVER, Band.OVER_PAPER, Band.LATER})


def walks(found: Iterable[T], of: Callable[[T], ToWalk], at: datetime) -> list[Walk]:
    """The walks of a shift, the most urgent first; `items` are positions in what was given.

    In a band rooms, then racks, then containers go from clean to dirty; what is as clean goes
    by its limit. Bands where time alone counts are one walk each.
    """
    every = [of(one) for one in found]
    by_place: dict[tuple[Band, str, str], list[int]] = {}
    for n, one in enumerate(every):
        band = band_of(one.work, at)
        place = ("", "") if band in BY_TIME else (one.room, one.rack)
        by_place.setdefault((band, *place), []).append(n)
    worst: dict[tuple[Band, str], Dirt] = {}
    for (band, room, _), numbers in by_place.items():
        dirtiest = max(every[n].dirt for n in numbers)
        worst[band, room] = max(worst.get((band, room), Dirt.CLEAN), dirtiest)

    def order(walk: Walk) -> tuple[object, ...]:
        dirtiest = max(every[n].dirt for n in walk.items)
        return (
            walk.band,
            not walk.room,
            worst[walk.band, walk.room],
            walk.room,
            dirtiest,
            walk.rack,
        )

    made = [
        Walk(band, room, rack, tuple(sorted(numbers, key=lambda n: _inside(band, every[n]))))
        for (band, room, rack), numbers in by_place.items()
    ]
    return sorted(made, key=order)


def _inside(band: Band, one: ToWalk) -> tuple[object, ...]:
    dirt = Dirt.CLEAN if band in BY_TIME else one.dirt
    return (dirt, *_time(one.work))


def _time(work: Work) -> tuple[object, ...]:
    """By the limit first; what has none goes by its planned time, after all that have one."""
    moment = work.limit or work.planned
    return (work.limit is None, moment is None, moment or 0, work.key)


def _due(work: Work) -> datetime | None:
    moments = [one for one in (work.planned, work.limit) if one is not None]
    return min(moments, default=None)
