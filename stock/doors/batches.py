"""Placing and moving: the two doors through which animals come to stand where they stand."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols.values import Reason
from stock import names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Batch, Site
from stock.queries.batch_lists import batch_now


@dataclass(frozen=True, slots=True)
class PlaceAsked:
    """Who is to be placed where: so many of each line, typed counts, under which protocol."""

    sources: tuple[tuple[UUID, int], ...]
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    protocol: str


@dataclass(frozen=True, slots=True)
class MoveAsked:
    """Which stay is to end and where the next begins. `readings` are uids, or new values."""

    batch: UUID
    ended_stay: UUID
    container: UUID
    kit: UUID | None
    counts: tuple[int, ...]
    missing: int = 0
    searched: bool | None = None
    readings: tuple[UUID | Mapping[str, Any], ...] = ()


def place_batch(asking: Asking, *, site: Site, asked: PlaceAsked) -> Answered:
    """Place animals out of their bags: a new batch, and day 1 of its first series."""
    batch, stay = asking.new_uid(), names.new_uid(asking.now)
    name, _, version = asked.protocol.partition("@")
    body = {
        "batch": batch,
        "from": [{"line": line, "count": count} for line, count in asked.sources],
        "container": asked.container,
        "kit": asked.kit,
        "counts": list(asked.counts),
        "protocol": name,
        "version": int(version),
        "stay": stay,
    }
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda world: (),
            tell=lambda world: (Told("batch_placed", body, texts=asking.texts),),
            show=lambda world: {"batch": batch_now(Batch.objects.get(uid=batch), asking.now)},
        ),
    )


def move_batch(asking: Asking, *, site: Site, asked: MoveAsked) -> Answered:
    """Move all animals of a batch: one stay ends, the next begins."""
    stay = names.new_uid(asking.now)
    body = {
        "batch": asked.batch,
        "ended_stay": asked.ended_stay,
        "stay": stay,
        "container": asked.container,
        "kit": asked.kit,
        "counts": list(asked.counts),
        "missing": asked.missing,
        "readings": [],
        "searched": asked.searched,
    }
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda world: (),
            tell=lambda world: (Told("batch_moved", body, texts=asking.texts),),
            show=lambda world: {
                "move": {"stay": str(stay)},
                "batch": batch_now(Batch.objects.get(uid=asked.batch), asking.now),
            },
        ),
    )


def may_move_now(asking: Asking, *, site: Site, asked: MoveAsked) -> tuple[Reason, ...]:
    """Every reason that stands against a move, as the door would give it. Changes nothing."""
    return ()
