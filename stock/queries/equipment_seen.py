"""A kit or a container as its page shows it, from what is kept of its readiness."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from protocols.values import State
from stock.models import (
    Container,
    DeviationRow,
    Kit,
    Piece,
    StayRow,
    Upkeep,
    WaterReading,
)
from stock.queries.room import upkeep_state
from stock.refusals import NotFound

USES_MOST = 30
READINGS_MOST = 20


@dataclass(frozen=True, slots=True)
class Kept:
    """State of a thing at a moment, as it is kept."""

    state: State
    since: datetime | None
    ready_at: datetime | None


@dataclass(frozen=True, slots=True)
class PieceSeen:
    uid: UUID
    label: str
    type: str
    single_use: bool
    kept: Kept


@dataclass(frozen=True, slots=True)
class Asked:
    """The question that a use is for which the thing had not been ready."""

    uid: UUID
    open: bool
    decided: str | None


@dataclass(frozen=True, slots=True)
class KitSeen:
    """A kit with its pieces; `missing` are types it needs and does not have.

    `asked` holds what is in question of its uses, by stay.
    """

    kit: Kit
    kept: Kept
    pieces: tuple[PieceSeen, ...]
    uses: tuple[StayRow, ...]
    asked: Mapping[UUID, Asked] = field(default_factory=dict)

    @property
    def missing(self) -> list[str]:
        left = [one.type for one in self.pieces if one.kept.state is not State.DEFECTIVE]
        return [need for need in self.kit.needs if not _taken(left, need)]


@dataclass(frozen=True, slots=True)
class ContainerSeen:
    container: Container
    kept: Kept
    uses: tuple[StayRow, ...]
    readings: tuple[WaterReading, ...]
    asked: Mapping[UUID, Asked] = field(default_factory=dict)

    @property
    def stay(self) -> StayRow | None:
        """The open stay in it."""
        return next((one for one in self.uses if one.ended_latest is None), None)


def kit_head(uid: UUID) -> Kit:
    """A kit with what is kept of it. One query. Raises NotFound."""
    found = _with_upkeep(Kit.objects.filter(uid=uid)).first()
    if found is None:
        raise NotFound
    return found  # type: ignore[no-any-return]


def kit_seen(kit: Kit, at: datetime) -> KitSeen:
    """The kit with its pieces and uses, newest first. Two queries."""
    pieces = _with_upkeep(Piece.objects.filter(kit=kit)).order_by("label")
    uses = StayRow.objects.filter(kit=kit).select_related("batch", "container")
    newest = _newest(uses, "kit_not_ready")
    return KitSeen(
        kit=kit,
        kept=_kept(kit, at, in_use=any(one.ended_latest is None for one in newest)),
        pieces=tuple(
            PieceSeen(one.uid, one.label, one.type, one.single_use, _kept(one, at))
            for one in pieces
        ),
        uses=newest,
        asked=_asked(newest),
    )


def container_head(uid: UUID) -> Container:
    """A container with its place and what is kept of it. One query. Raises NotFound."""
    rows = Container.objects.select_related("rack__room").filter(uid=uid)
    found = _with_upkeep(rows).first()
    if found is None:
        raise NotFound
    return found  # type: ignore[no-any-return]


def container_seen(container: Container, at: datetime) -> ContainerSeen:
    """The container with its stays and newest readings, newest first. Two queries."""
    uses = StayRow.objects.filter(container=container).select_related("batch", "kit")
    newest = _newest(uses, "container_not_ready")
    readings = WaterReading.objects.filter(container=container, performed_at__lte=at)
    shown = readings.select_related("instrument").order_by("-performed_at", "uid")
    return ContainerSeen(
        container=container,
        kept=_kept(container, at, in_use=any(one.ended_latest is None for one in newest)),
        uses=newest,
        readings=tuple(shown[:READINGS_MOST]),
        asked=_asked(newest),
    )


def _newest(uses: QuerySet[StayRow], rule: str) -> tuple[StayRow, ...]:
    """The newest of these uses, each with the question whether it was ready. One query."""
    asked = DeviationRow.objects.filter(rule=rule, cause=OuterRef("uid"))
    names = ("uid", "open", "decided")
    rows = uses.annotate(**{f"asked_{one}": Subquery(asked.values(one)[:1]) for one in names})
    return tuple(rows.order_by("-began_earliest", "-uid")[:USES_MOST])


def _asked(uses: Iterable[StayRow]) -> dict[UUID, Asked]:
    found = ((one.uid, one.__dict__) for one in uses)
    return {
        uid: Asked(row["asked_uid"], row["asked_open"], row["asked_decided"])
        for uid, row in found
        if row["asked_uid"]
    }


def pieces_told_of(kit: KitSeen) -> list[UUID]:
    """The kit and its pieces: what was told of any of them belongs to its history."""
    return [kit.kit.uid, *(one.uid for one in kit.pieces)]


def _with_upkeep(rows: QuerySet[Kit] | QuerySet[Piece] | QuerySet[Container]) -> QuerySet:  # type: ignore[type-arg]
    kept = Upkeep.objects.filter(subject=OuterRef("uid"))
    return rows.annotate(
        kept_state=Subquery(kept.values("state")[:1]),
        kept_since=Subquery(kept.values("since")[:1]),
        kept_ready_at=Subquery(kept.values("ready_at")[:1]),
    )


def _kept(row: object, at: datetime, *, in_use: bool = False) -> Kept:
    found = row.__dict__
    since, ready_at = found["kept_since"], found["kept_ready_at"]
    if in_use:
        return Kept(State.IN_USE, since, None)
    if found["kept_state"] is None:
        return Kept(State.DIRTY, None, None)
    kept = Upkeep(state=found["kept_state"], ready_at=ready_at)
    return Kept(upkeep_state(kept, at), since, ready_at)


def _taken(left: list[str], need: str) -> bool:
    if need not in left:
        return False
    left.remove(need)
    return True
