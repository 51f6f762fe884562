"""What a walk through a room goes past: its containers, who is in them, and what was told."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.tasks import What, Work
from protocols.walks import Dirt, dirt_of
from stock.models import Batch, Container, Fact, StayRow
from stock.queries.seen_alive import walked_of
from stock.refusals import NotFound

ANY = Work("round", What.ROUND, "shift")


@dataclass(frozen=True, slots=True)
class Stop:
    """One container on the way; `batch` and `code` are of whoever is in it."""

    uid: UUID
    label: str
    rack: str
    room: UUID
    room_label: str
    batch: UUID | None
    code: str
    state: str
    dirt: Dirt


@dataclass(frozen=True, slots=True)
class RoundTold:
    """A round as it was told: what was not as it should be, by container."""

    room: UUID
    at: datetime
    looked_at: int
    exceptions: tuple[tuple[UUID, str], ...]
    not_all_seen: tuple[UUID, ...]


def stops_of(site: UUID) -> tuple[Stop, ...]:
    """Every container in use, in the order of a walk: racks from clean to dirty. Two queries.

    In a rack those with suspected animals come last, the others as they stand.
    """
    stays = StayRow.objects.filter(container__site=site, ended_latest=None)
    inside = {
        row.container_id: row.batch
        for row in stays.select_related("batch").defer("batch__chain")
    }
    rows = Container.objects.filter(site=site, in_use=True).select_related("rack__room")
    found = []
    for row in rows.order_by("label"):
        batch = inside.get(row.uid)
        room = row.rack.room
        found.append(
            Stop(
                uid=row.uid,
                label=row.label,
                rack=row.rack.label,
                room=room.uid,
                room_label=room.label,
                batch=batch.uid if batch else None,
                code=_code_of(batch),
                state=batch.state if batch else "",
                dirt=dirt_of(ANY, batch.state, batch.moves) if batch else Dirt.CLEAN,
            )
        )
    worst: dict[tuple[UUID, str], Dirt] = {}
    for one in found:
        key = (one.room, one.rack)
        worst[key] = max(worst.get(key, Dirt.CLEAN), one.dirt)
    return tuple(
        sorted(
            found,
            key=lambda one: (
                one.room_label,
                worst[one.room, one.rack],
                one.rack,
                one.dirt is Dirt.SICK,
                one.label,
            ),
        )
    )


def _code_of(batch: Batch | None) -> str:
    return batch.code if batch else ""


def round_told(site: UUID, uid: UUID) -> RoundTold:
    """One round by its fact. One query. Raises NotFound."""
    row = Fact.objects.filter(uid=uid, log=site, kind="round_made").first()
    if row is None:
        raise NotFound
    said = tuple((UUID(one["container"]), one["what"]) for one in row.body["exceptions"])
    walked = walked_of(row.body)
    return RoundTold(
        room=UUID(row.body["room"]),
        at=row.performed_at,
        looked_at=len(walked.looked_at),
        exceptions=said,
        not_all_seen=walked.not_all_seen,
    )


def foods_of(site: UUID) -> tuple[str, ...]:
    """What was fed lately, the last first. One query."""
    rows = Fact.objects.filter(log=site, kind="fed").order_by("-performed_at", "-seq")
    return tuple(dict.fromkeys(rows.values_list("body__food", flat=True)[:100]))[:10]
