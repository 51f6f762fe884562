"""What is to be printed on labels, by sort; a number of animals is never among it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.issuing import STANDING
from stock.models import (
    Batch,
    Certificate,
    CertificateText,
    Container,
    Instrument,
    Kit,
    Line,
    Origin,
    Piece,
    StayRow,
)
from stock.queries.batch_lists import brought_to

LABELS_MOST = 1000


@dataclass(frozen=True, slots=True)
class SpeciesOn:
    """A species as it stands on a label: its name, how the papers call it, its groups."""

    name: str | None
    text: str
    groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Printed:
    """One label's worth of facts; what does not belong to its sort stays empty.

    `address` is that of the public certificate, on the bags of what was certified.
    """

    what: str
    uid: UUID
    code: str
    label: str
    room: str = ""
    rack: str = ""
    fill_mark_l: str = ""
    holder: str = ""  # the kit or container it belongs to, or in which a batch is
    type: str = ""
    needs: tuple[str, ...] = ()
    quantities: tuple[str, ...] = ()
    species: tuple[SpeciesOn, ...] = ()
    limit: datetime | None = None
    placed_at: datetime | None = None
    moves: tuple[int, int] | None = None  # made, needed
    box: str = ""
    bag: str = ""
    supplier: str = ""
    certified: bool = False
    number: str = ""
    address: str = ""
    issued_at: datetime | None = None


@dataclass(slots=True)
class _Animals:
    """Who is in which batch, and where it is now."""

    species: dict[UUID, list[SpeciesOn]] = field(default_factory=dict)
    holders: dict[UUID, str] = field(default_factory=dict)


def labels_of(site: UUID, what: str, *, of: UUID | None, at: datetime) -> list[Printed]:
    """The labels of one sort at a site, by label; `of` narrows them to one thing, or to what
    belongs to it (the kit of pieces, the rack of containers, the consignment of bags, the
    batch of what is sold). At most five queries.
    """
    return SORTS[what](site, of, at)


def _containers(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Container.objects.filter(site=site, in_use=True).select_related("rack__room")
    chosen = rows.filter(Q(uid=of) | Q(rack=of)) if of else rows
    return [
        Printed(
            "container",
            row.uid,
            row.code,
            row.label,
            room=row.rack.room.label,
            rack=row.rack.label,
            fill_mark_l=row.fill_mark_l,
        )
        for row in chosen.order_by("label")[:LABELS_MOST]
    ]


def _kits(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Kit.objects.filter(site=site)
    chosen = rows.filter(uid=of) if of else rows
    return [
        Printed("kit", row.uid, row.code, row.label, needs=tuple(row.needs))
        for row in chosen.order_by("label")[:LABELS_MOST]
    ]


def _pieces(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Piece.objects.filter(site=site, defective=False).select_related("kit")
    chosen = rows.filter(Q(uid=of) | Q(kit=of)) if of else rows
    return [
        Printed(
            "piece",
            row.uid,
            row.code,
            row.label,
            type=row.type,
            holder=row.kit.label if row.kit else "",
        )
        for row in chosen.order_by("label")[:LABELS_MOST]
    ]


def _instruments(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Instrument.objects.filter(site=site)
    chosen = rows.filter(uid=of) if of else rows
    return [
        Printed("instrument", row.uid, row.code, row.label, quantities=tuple(row.quantities))
        for row in chosen.order_by("label")[:LABELS_MOST]
    ]


def _batches(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Batch.objects.filter(site=site, closed_at=None).select_related("site")
    chosen = rows.filter(uid=of) if of else rows
    batches = brought_to(list(chosen.order_by("code")[:LABELS_MOST]), at)
    animals = _animals(batches)
    standing = Certificate.objects.filter(site=site, state__in=("valid", "partly"))
    certified = set(standing.values_list("batch", flat=True))
    return [
        Printed(
            "batch",
            row.uid,
            row.code,
            row.code,
            holder=animals.holders.get(row.uid, ""),
            species=tuple(animals.species.get(row.uid, ())),
            limit=row.limit,
            placed_at=row.placed_at,
            moves=(row.moves, row.moves_needed) if row.moves_needed else None,
            certified=row.uid in certified,
        )
        for row in batches
    ]


def _bags(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    rows = Line.objects.filter(consignment__site=site, listed__gt=0)
    chosen = rows.filter(Q(uid=of) | Q(consignment=of)) if of else rows
    named = chosen.select_related("species", "consignment__supplier")
    return [
        Printed(
            "bag",
            row.uid,
            row.code,
            row.text,
            species=(_species(row),),
            box=row.box or "",
            bag=row.bag or "",
            supplier=row.consignment.supplier.name,
        )
        for row in named.order_by("-consignment__listed_at", "n")[:LABELS_MOST]
    ]


def _sold(site: UUID, of: UUID | None, at: datetime) -> list[Printed]:
    """Bags for buyers: of batches whose certificate stands, with its public address."""
    rows = Certificate.objects.filter(site=site, state__in=STANDING[:2])
    chosen = rows.filter(batch=of) if of else rows
    certificates = list(chosen.select_related("batch").order_by("number")[:LABELS_MOST])
    texts = CertificateText.objects.filter(certificate__in=[one.uid for one in certificates])
    addresses = dict(texts.values_list("certificate", "address"))
    animals = _animals([one.batch for one in certificates])
    return [
        Printed(
            "sold",
            one.batch_id,
            one.batch.code,
            one.number,
            species=tuple(animals.species.get(one.batch_id, ())),
            certified=True,
            number=one.number,
            address=addresses.get(one.uid, ""),
            issued_at=one.issued_at,
        )
        for one in certificates
    ]


SORTS = {
    "container": _containers,
    "kit": _kits,
    "piece": _pieces,
    "instrument": _instruments,
    "batch": _batches,
    "bag": _bags,
    "sold": _sold,
}


def _animals(batches: Iterable[Batch]) -> _Animals:
    """Species and containers of batches. Two queries."""
    found, uids = _Animals(), [one.uid for one in batches]
    origins = Origin.objects.filter(batch__in=uids).select_related("line__species")
    for row in origins.order_by("line__n"):
        species = found.species.setdefault(row.batch_id, [])
        if (one := _species(row.line)) not in species:
            species.append(one)
    stays = StayRow.objects.filter(batch__in=uids, ended_latest=None)
    found.holders.update(stays.values_list("batch", "container__label"))
    return found


def _species(line: Line) -> SpeciesOn:
    if line.species is None:
        return SpeciesOn(None, line.text)
    return SpeciesOn(line.species.scientific_name, line.text, tuple(line.species.groups))
