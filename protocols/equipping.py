"""What may be done with pieces and containers as they stand: fitting a piece, emptying."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.clocks import utc_text
from protocols.ruled import Reason
from protocols.said import said
from protocols.worlds import Equipment

# Parts with hollows and pores: there a film of water stays when all else is dry.
WET_LONGEST = ("air_stone", "air_line", "pump", "shelter")


@dataclass(frozen=True, slots=True)
class Fitted:
    """A piece, the kit or container it belongs to at a moment, and why it is of no use."""

    uid: UUID
    label: str
    holder: UUID | None
    useless: str | None = None


def may_fit(piece: Fitted, holder: UUID | None, replaced: Fitted | None) -> tuple[Reason, ...]:
    """A defective piece is fitted nowhere, and only what is in a kit is replaced there.

    `holder` is the kit, or where there is none the container, that it goes into.
    """
    found = []
    if piece.useless is not None:
        text = f"{piece.label}: {piece.useless}"
        found.append(Reason("piece_defective", "piece_defective", text, pointer="/piece"))
    if replaced is not None and replaced.uid == piece.uid:
        text = said("{piece} cannot replace itself.", piece=piece.label)
        found.append(Reason("contradicts_record", "replaces", text, pointer="/replaces"))
    elif replaced is not None and replaced.holder != holder:
        text = said("{replaced} is not part of it.", replaced=replaced.label)
        found.append(Reason("contradicts_record", "replaces", text, pointer="/replaces"))
    return tuple(found)


def may_empty(container: Equipment, *, searched: bool) -> tuple[Reason, ...]:
    """Not with animals in it, and not unsearched while some are still being looked for."""
    found = []
    there = container.occupant
    if there is not None:
        text = said(
            "{container} is occupied by {there}.", container=container.label, there=there.code
        )
        since = {"since": utc_text(there.since)}
        found.append(Reason("container_occupied", "container_occupied", text, numbers=since))
    if container.search_open and not searched:
        text = said(
            "Animals are still missing: search {container} before it is emptied.",
            container=container.label,
        )
        found.append(
            Reason("not_searched", "not_searched", text, pointer="/searched", task="search")
        )
    return tuple(found)


def contact_in_order(started_at: datetime, ended_at: datetime, now: datetime) -> bool:
    """Whether contact began before it ended, and has ended."""
    return started_at <= ended_at <= now


def stays_wet_longest(types: Sequence[str]) -> tuple[int, ...]:
    """Places in `types` of the parts to look at first before something is called dry."""
    order = {name: place for place, name in enumerate(WET_LONGEST)}
    found = [(order[name], place) for place, name in enumerate(types) if name in order]
    return tuple(place for _, place in sorted(found))
