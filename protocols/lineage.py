"""The history of a batch, with what it inherited through splits and joins."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from protocols.told import Happening, History, Lineage, Placement
from protocols.uids import as_uid


def history(batch: UUID, told: Iterable[Happening], links: Lineage) -> History:
    """What concerns `batch`: its own, and its ancestors' up to when it came out of them.

    Happenings that name no batch at all (a contact with a container, a piece fitted) stay in:
    whether they concern it depends on where it was then.
    """
    until = _ancestors(batch, links)
    kept = tuple(one for one in told if _concerns(one, batch, until))
    return History(batch, kept, frozenset({batch, *until}))


def _ancestors(batch: UUID, links: Lineage) -> dict[UUID, datetime]:
    """Every batch this one came out of, with the latest moment up to which it matters."""
    until: dict[UUID, datetime] = {}
    waiting = list(links.of(batch))
    while waiting:
        link = waiting.pop()
        if link.parent not in until or until[link.parent] < link.at:
            until[link.parent] = link.at
            waiting.extend(links.of(link.parent))
    return until


def _concerns(happening: Happening, batch: UUID, until: dict[UUID, datetime]) -> bool:
    named = _batches(happening)
    return not named or any(
        one == batch or (one in until and happening.when.earliest <= until[one])
        for one in named
    )


def _batches(happening: Happening) -> tuple[UUID, ...]:
    body = happening.body
    if "members" in body:
        return tuple(as_uid(one) for one in (*body["members"], body["batch"]))
    if "batch" not in body or happening.kind == "found_again":
        return ()
    parts = (part["batch"] for part in body.get("parts", ()))
    return tuple(as_uid(one) for one in (body["batch"], *parts))


def placements(history: History) -> tuple[Placement, ...]:
    """Every placement a judge will look at: what must be known of container, kit and water."""
    found: list[Placement] = []
    containers: dict[UUID, UUID] = {}
    for one in history.happenings:
        if one.kind not in ("batch_placed", "batch_moved"):
            continue
        kit, ended = one.body.get("kit"), one.body.get("ended_stay")
        placed = Placement(
            stay=as_uid(one.body["stay"]),
            batch=as_uid(one.body["batch"]),
            container=as_uid(one.body["container"]),
            kit=None if kit is None else as_uid(kit),
            when=one.when,
            by=one.uid,
            source=None if ended is None else containers.get(as_uid(ended)),
        )
        containers[placed.stay] = placed.container
        found.append(placed)
    return tuple(found)
