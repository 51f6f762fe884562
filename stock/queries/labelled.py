"""What bears a short code: containers, kits, pieces, instruments, batches, bags."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from stock.models import Batch, Container, Instrument, Kit, Line, PaperSheet, Piece, StayRow

BAGS_MOST = 2000


@dataclass(frozen=True, slots=True)
class Labelled:
    """A thing with its code; `beside` are the uids of who and what is in it or with it now."""

    what: str  # container, kit, piece, instrument, batch, bag, sheet
    uid: UUID
    code: str
    label: str
    kit: UUID | None = None  # of a piece
    beside: tuple[UUID, ...] = ()


def bearers(site: UUID, code: str) -> list[Labelled]:
    """Everything of a site with this code; codes are once for a sort. Eight queries."""
    found = [
        *_of(Container.objects.filter(site=site, code=code), "container"),
        *_of(Kit.objects.filter(site=site, code=code), "kit"),
        *_of(Piece.objects.filter(site=site, code=code), "piece"),
        *_of(Instrument.objects.filter(site=site, code=code), "instrument"),
        *_of(Batch.objects.filter(site=site, code=code), "batch"),
        *_of(Line.objects.filter(consignment__site=site, code=code), "bag"),
        *_of(PaperSheet.objects.filter(site=site, code=code), "sheet"),
    ]
    return _with_beside(site, found)


def everything_labelled(site: UUID) -> list[Labelled]:
    """All that can be scanned at a site now, for a tablet without network. Seven queries.

    Batches that are closed and bags that were placed long ago are left out.
    """
    bags = Line.objects.filter(consignment__site=site).order_by("-consignment__listed_at", "n")
    found = [
        *_of(Container.objects.filter(site=site, in_use=True), "container"),
        *_of(Kit.objects.filter(site=site), "kit"),
        *_of(Piece.objects.filter(site=site), "piece"),
        *_of(Instrument.objects.filter(site=site), "instrument"),
        *_of(Batch.objects.filter(site=site, closed_at=None), "batch"),
        *_of(bags[:BAGS_MOST], "bag"),
    ]
    return _with_beside(site, found)


def _of(rows: QuerySet[Any], what: str) -> Iterator[Labelled]:
    for row in rows:
        label = (
            row.code if what in ("batch", "sheet") else row.text if what == "bag" else row.label
        )
        yield Labelled(what, row.uid, row.code, label, getattr(row, "kit_id", None))


def _with_beside(site: UUID, found: list[Labelled]) -> list[Labelled]:
    """With who and what shares an open stay with each of them."""
    beside: dict[UUID, set[UUID]] = {}
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    for three in rows.values_list("container", "kit", "batch"):
        together = {one for one in three if one is not None}
        for one in together:
            beside.setdefault(one, set()).update(together - {one})
    return [
        Labelled(
            one.what,
            one.uid,
            one.code,
            one.label,
            one.kit,
            tuple(sorted(beside.get(one.uid, ()))),
        )
        for one in found
    ]
