"""Equipment to choose from, with what stands against each at a glance."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.values import State
from stock.models import Container, Kit, Piece, SiteThing, StayRow, Upkeep
from stock.queries.room import upkeep_state


@dataclass(frozen=True, slots=True)
class Choice:
    """One container or kit; `used_by` is the batch in it, or the container it works in."""

    uid: UUID
    label: str
    state: State
    ready_at: datetime | None
    used_by: str | None


@dataclass(frozen=True, slots=True)
class Choices:
    containers: tuple[Choice, ...]
    kits: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class PieceChoice:
    """One piece, and the kit it belongs to now."""

    uid: UUID
    label: str
    type: str
    state: State
    kit: str | None


def piece_choices(site: UUID, at: datetime) -> tuple[PieceChoice, ...]:
    """Every piece of a site, by label. Two queries."""
    kept = {row.subject: row for row in Upkeep.objects.filter(site=site, what="piece")}
    rows = Piece.objects.filter(site=site).select_related("kit").order_by("label")
    return tuple(
        PieceChoice(
            uid=row.uid,
            label=row.label,
            type=row.type,
            state=upkeep_state(kept.get(row.uid), at),
            kit=row.kit.label if row.kit else None,
        )
        for row in rows
    )


def pieces_of_kit(kit: UUID | None) -> list[str]:
    """The labels of what belongs to a kit now. One query, none without a kit."""
    if kit is None:
        return []
    rows = Piece.objects.filter(kit=kit).order_by("label")
    return list(rows.values_list("label", flat=True))


def equipment_choices(site: UUID, at: datetime) -> Choices:
    """Every container in use and every kit of a site, by label. Four queries."""
    kept = {row.subject: row for row in Upkeep.objects.filter(site=site).exclude(what="piece")}
    used: dict[UUID, str] = {}
    stays = StayRow.objects.filter(container__site=site, ended_latest=None)
    for container, label, kit, code in stays.values_list(
        "container", "container__label", "kit", "batch__code"
    ):
        used[container] = code
        if kit is not None:
            used[kit] = label

    def choice(row: SiteThing) -> Choice:
        upkeep, by = kept.get(row.uid), used.get(row.uid)
        state = State.IN_USE if by else upkeep_state(upkeep, at)
        return Choice(row.uid, row.label, state, upkeep.ready_at if upkeep else None, by)

    containers = Container.objects.filter(site=site, in_use=True).order_by("label")
    return Choices(
        containers=tuple(choice(row) for row in containers),
        kits=tuple(choice(row) for row in Kit.objects.filter(site=site).order_by("label")),
    )
