"""Ways by which something could have passed, graded. Each is a question for a person."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from uuid import UUID

from protocols.told import Happening, When
from protocols.uids import as_uid


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
    return tuple((uid, apart.sqrt().quantize(Decimal("0.01"))) for apart, _, uid in near)


def _squared(one: Point, two: Point) -> Decimal:
    x, y, z = one.x_m - two.x_m, one.y_m - two.y_m, one.z_m - two.z_m
    return x * x + y * y + z * z
