"""Ways by which something could have passed, graded. Each is a question for a person."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from uuid import UUID

from protocols.clocks import utc_text
from protocols.told import Happening, When
from protocols.uids import as_uid
from protocols.whereabouts import Standing, common_time

SECOND = timedelta(seconds=1)


class Grade(StrEnum):
    """How readily something passes that way."""

    STRONG = "strong"
    LIKELY = "likely"
    POSSIBLE = "possible"


GRADES: Mapping[str, Grade] = {
    "water": Grade.STRONG,
    "tool": Grade.LIKELY,
    "splash": Grade.LIKELY,
    "hands": Grade.POSSIBLE,
    "feeding": Grade.POSSIBLE,
    "other": Grade.POSSIBLE,
}


@dataclass(frozen=True, slots=True)
class Exposure:
    """From which batch or container something could have reached the subject, how and when."""

    subject: UUID
    source: UUID
    way: str
    grade: Grade
    at: datetime
    by: UUID
    thing: UUID | None = None


@dataclass(frozen=True, slots=True)
class Point:
    """Where a container stands in its room, metres."""

    x_m: Decimal
    y_m: Decimal
    z_m: Decimal


def exposures(
    subject: Iterable[UUID], contacts: Iterable[Happening], *, span: When
) -> tuple[Exposure, ...]:
    """Contacts during `span` that lead to any of `subject` (a batch, its container).

    Only in the direction told: what a net brought from one batch to another did not come
    back by that. The strongest first, then by time.
    """
    names = frozenset(subject)
    found = [
        Exposure(
            subject=as_uid(one.body["to"]),
            source=as_uid(one.body["from"]),
            way=one.body["way"],
            grade=GRADES[one.body["way"]],
            at=one.when.earliest,
            by=one.uid,
            thing=as_uid(one.body["thing"]) if one.body.get("thing") else None,
        )
        for one in contacts
        if one.kind == "contact_seen" and as_uid(one.body["to"]) in names
        if one.when.latest >= span.earliest and one.when.earliest <= span.latest
    ]
    order = list(Grade)
    return tuple(sorted(found, key=lambda one: (order.index(one.grade), one.at, one.by.int)))


@dataclass(frozen=True, slots=True)
class Spot:
    """A container at a moment: the room it stands in, where, with or without lid and air."""

    label: str
    room: UUID
    point: Point
    lid: bool
    air_stone: bool


@dataclass(frozen=True, slots=True)
class Suspected:
    """Animals on which a sign was seen, and the stay in which they were then."""

    sign: Happening
    standing: Standing


def stood_near(
    one: Suspected, other: Standing, spots: Mapping[UUID, Spot], *, within_m: Decimal
) -> Happening | None:
    """What it is for `other` that a sign was seen: nothing, unless it stood near meanwhile.

    It begins with their common time, so that whoever comes out of `other` later inherits it.
    Distances, lids and air are those of the moment of the sign; both were in one room.
    """
    common = common_time(one.standing, other)
    here, there = spots.get(other.container), spots.get(one.standing.container)
    if common is None or here is None or there is None or here.room != there.room:
        return None
    if other.container == one.standing.container or other.batch == one.standing.batch:
        return None
    apart = _squared(here.point, there.point)
    if apart > within_m**2:
        return None
    began, ended = common
    numbers = {
        "metres": str(_shown(apart)),
        "from": str(one.standing.batch),
        "container": str(one.standing.container),
        "lid": there.lid,
        "air_stone": there.air_stone,
        "own_lid": here.lid,
        "together_from": utc_text(began),
        "together_until": None if ended is None else utc_text(ended),
    }
    return replace(
        one.sign,
        kind="stood_near",
        when=When.exactly(began + SECOND),
        body={
            "batch": str(other.batch),
            "seen_at": utc_text(max(one.sign.when.earliest, began)),
            "numbers": numbers,
        },
    )


def nearest(found: Iterable[Happening]) -> tuple[Happening, ...]:
    """Of each sign the one told of the shortest way, then the earliest."""
    by_sign: dict[UUID, Happening] = {}
    for one in sorted(found, key=_distance):
        by_sign.setdefault(one.uid, one)
    return tuple(by_sign.values())


def _distance(one: Happening) -> tuple[Decimal, datetime]:
    return Decimal(one.body["numbers"]["metres"]), one.when.earliest


def neighbours(
    container: UUID, points: Mapping[UUID, Point], *, within_m: Decimal
) -> tuple[tuple[UUID, Decimal], ...]:
    """Other containers at most `within_m` away (the bound included), the nearest first.

    Distances in metres between the points, rounded to the centimetre for showing only.
    """
    here = points[container]
    squared = (
        (_squared(here, there), uid) for uid, there in points.items() if uid != container
    )
    near = sorted((apart, uid.int, uid) for apart, uid in squared if apart <= within_m**2)
    return tuple((uid, _shown(apart)) for apart, _, uid in near)


def _shown(squared: Decimal) -> Decimal:
    return squared.sqrt().quantize(Decimal("0.01"))


def _squared(one: Point, two: Point) -> Decimal:
    x, y, z = one.x_m - two.x_m, one.y_m - two.y_m, one.z_m - two.z_m
    return x * x + y * y + z * z
