"""A site's containers where they stand: who is in them, how ready the empty ones are."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.values import State
from stock.models import Container, StayRow, Task, Upkeep
from stock.queries.batch_lists import brought_to


@dataclass(frozen=True, slots=True)
class Occupied:
    """A batch in its container; `limit` is None once nothing limits the stay."""

    batch: UUID
    code: str
    state: str
    began: datetime
    limit: datetime | None
    planned: datetime | None
    kit: str | None


@dataclass(frozen=True, slots=True)
class Standing:
    """A container at its place, in metres along and above the foot of its rack."""

    uid: UUID
    label: str
    rack: str
    room: str
    x_m: float
    z_m: float
    width_m: float | None
    height_m: float | None
    tapered: bool
    state: State
    ready_at: datetime | None
    occupied: Occupied | None


def containers_standing(site: UUID, at: datetime) -> list[Standing]:
    """Every container in use, by room and rack. Four queries, some more where facts wait."""
    rows = Container.objects.filter(site=site, in_use=True).select_related("rack__room")
    occupied = _occupied(site, at)
    kept = {row.subject: row for row in Upkeep.objects.filter(site=site, what="container")}
    return [
        _standing(row, kept.get(row.uid), occupied.get(row.uid), at)
        for row in rows.order_by("rack__room__label", "rack__label", "label")
    ]


def upkeep_state(row: Upkeep | None, at: datetime) -> State:
    """The state at a moment: what dries is ready once its time has come; new is dirty."""
    if row is None:
        return State.DIRTY
    state = State(row.state)
    if state is State.DRYING and row.ready_at is not None and row.ready_at <= at:
        return State.READY
    return state


def _occupied(site: UUID, at: datetime) -> dict[UUID, Occupied]:
    stays = list(
        StayRow.objects.filter(container__site=site, ended_latest=None).select_related(
            "batch__site", "kit"
        )
    )
    brought_to([stay.batch for stay in stays if stay.batch.stale], at)
    moves = Task.objects.filter(site=site, what="move", state__in=("open", "taken"))
    planned = dict(moves.values_list("batch", "planned"))
    return {
        stay.container_id: Occupied(
            batch=stay.batch_id,
            code=stay.batch.code,
            state=stay.batch.state,
            began=stay.began_earliest,
            limit=stay.batch.limit,
            planned=planned.get(stay.batch_id),
            kit=stay.kit.label if stay.kit else None,
        )
        for stay in stays
    }


def _standing(
    row: Container, kept: Upkeep | None, occupied: Occupied | None, at: datetime
) -> Standing:
    inside = row.inside_m or {}
    return Standing(
        uid=row.uid,
        label=row.label,
        rack=row.rack.label,
        room=row.rack.room.label,
        x_m=float(row.x_m),
        z_m=float(row.z_m),
        width_m=_metres(inside.get("length") or inside.get("diameter")),
        height_m=_metres(inside.get("height")),
        tapered=row.shape == "round",
        state=State.IN_USE if occupied else upkeep_state(kept, at),
        ready_at=kept.ready_at if kept else None,
        occupied=occupied,
    )


def _metres(text: str | None) -> float | None:
    return float(text) if text and float(text) > 0 else None
