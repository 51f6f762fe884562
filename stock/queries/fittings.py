"""Which piece was in which kit or container, from when to when."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.readiness import Membership
from stock.judging.equipment import Equipment
from stock.models import Container, Piece, SiteThing, StayRow
from stock.queries.batches import timed


@dataclass(frozen=True, slots=True)
class Fitted:
    """A piece in a kit, or in a container, during a time."""

    piece: UUID
    holder: UUID
    began: datetime
    ended: datetime | None


def fittings_shown(
    row: SiteThing,
    found: Equipment,
    stays: Sequence[StayRow],
    zone: ZoneInfo,
    at: datetime,
) -> list[dict[str, Any]]:
    """Where a piece belonged; of a kit or container, the pieces that were in it until `at`.

    A piece is in a container by itself, or while the kit it belongs to works there. One query.
    """
    told = sorted(_fitted(row, found, stays), key=lambda one: (one.began, one.piece))
    known = [one for one in told if one.began <= at]
    pieces = {row.uid: row, **found.pieces} if isinstance(row, Piece) else found.pieces
    holders = {one.holder for one in known}
    places = Container.objects.filter(uid__in=holders - found.kits.keys())
    labels = {uid: kit.label for uid, kit in found.kits.items()}
    labels |= dict(places.values_list("uid", "label"))
    return [
        {
            "piece": str(one.piece),
            "label": pieces[one.piece].label,
            "type": pieces[one.piece].type,
            "kit": str(one.holder) if one.holder in found.kits else None,
            "container": None if one.holder in found.kits else str(one.holder),
            "holder_label": labels.get(one.holder),
            **timed("from", one.began, zone),
            **timed("to", one.ended if one.ended and one.ended <= at else None, zone),
        }
        for one in known
        if one.piece in pieces
    ]


def _fitted(row: SiteThing, found: Equipment, stays: Sequence[StayRow]) -> Iterator[Fitted]:
    for piece, spans in found.belongs.items():
        for span in spans:
            if row.uid in (piece, span.holder):
                yield Fitted(piece, span.holder, span.began, span.ended)
            elif isinstance(row, Container):
                yield from _while_there(piece, span, stays)


def _while_there(piece: UUID, span: Membership, stays: Sequence[StayRow]) -> Iterator[Fitted]:
    """A piece stands where its kit stands, as long as it is part of it."""
    for stay in stays:
        if stay.kit_id != span.holder:
            continue
        began = max(stay.began_earliest, span.began)
        ended = min((one for one in (stay.ended_latest, span.ended) if one), default=None)
        if ended is None or began < ended:
            yield Fitted(piece, span.holder, began, ended)
