"""Deliveries: what was announced, when it came, and what was counted out of the bags."""

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.intake import (
    BoxCounted,
    BoxListed,
    boxes_close,
    may_be_long,
    may_count,
    may_deliver,
    may_reverse_doa,
)
from protocols.values import Reason
from stock import access, names
from stock.answers import Answered
from stock.apply.counts import balances
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Consignment, Line, LineCount, Site
from stock.queries.intake import (
    consignment_shown,
    delivery_shown,
    line_counted_shown,
    line_shown,
)
from stock.queries.lists import of_waybill
from stock.queries.suppliers import species_of, supplier_of
from stock.refusals import NotFound, Refused, refuse

# An entry has less than 64 KiB; what the envelope says needs room as well.
PART_MOST_BYTES = 40_000


@dataclass(frozen=True, slots=True)
class LineAsked:
    """One line of a small delivery. Text is what the paper says, if there is one."""

    listed: int
    species: UUID | None = None
    text: str | None = None
    boxes: tuple[BoxListed, ...] = ()


def consignment_for(
    asking: access.Person, uid: UUID, roles: Iterable[str] = access.EVERYBODY
) -> tuple[Consignment, Site]:
    """A consignment with its site, if this person may see or do this there."""
    return access.thing_for(asking, Consignment, uid, roles)


def line_for(
    person: access.Person, uid: UUID, roles: Iterable[str] = access.EVERYBODY
) -> tuple[Line, Site]:
    """A line with the site of its consignment, if this person may see or do this there."""
    line = Line.objects.select_related("consignment").filter(uid=uid).first()
    if line is None:
        raise NotFound
    return line, access.site_for(person, line.consignment.site_id, roles)


def enter_consignment(
    asking: Asking,
    *,
    site: UUID,
    supplier: UUID,
    waybill: str | None,
    lines: Sequence[LineAsked],
) -> Answered:
    """A small delivery without a file: just supplier, species and numbers."""
    access.site_for(asking.person, site, access.HANDS)
    if supplier_of(asking.person, supplier) is None:
        raise NotFound
    uid = asking.new_uid()
    head = {"consignment": uid, "supplier": supplier, "waybill": waybill, "list_version": 1}
    told = in_parts(head, [_line_body(asking, one) for one in lines], note_of(asking))

    def ask(known: Consignment | None) -> Iterator[Reason]:
        refuse_known(known, uid)
        for n, one in enumerate(lines):
            for reason in boxes_close(one.listed, one.boxes):
                yield replace(reason, pointer=f"/lines/{n}{reason.pointer}")

    return enter(
        asking,
        site,
        Door(
            load=lambda log: of_waybill(site, supplier, waybill) or Consignment.read(uid=uid),
            ask=ask,
            tell=lambda _: told,
            show=lambda _: {"consignment": consignment_shown(uid, asking.now)},
        ),
    )


def deliver_consignment(asking: Asking, *, uid: UUID, delivered_at: datetime) -> Answered:
    """The boxes are here; the windows for claims run from now on."""
    _, site = consignment_for(asking.person, uid, access.HANDS)
    told = Told(
        "consignment_delivered",
        {"consignment": uid, "delivered_at": delivered_at},
        texts=note_of(asking),
    )
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: Consignment.objects.get(uid=uid),
            ask=lambda one: may_deliver(delivered_at, already=one.delivered_at, now=asking.now),
            tell=lambda one: (told,),
            show=lambda one: delivery_shown(uid, asking.now),
        ),
    )


def count_line(
    asking: Asking, *, uid: UUID, count: BoxCounted, length_cm: str | None = None
) -> Answered:
    """Counted out of the bags of a line, by box where the boxes were kept apart.

    `length_cm` is how long they are, nose to tail, a mean of some: stocking is planned by it.
    """
    line, site = line_for(asking.person, uid, access.HANDS)
    named = count.box is not None
    # Where only one box is printed, that is the one that was opened.
    count = replace(count, box=count.box or line.box)
    body = {
        "line": uid,
        "box": count.box,
        "received": count.received,
        "doa": count.doa,
        "wrong_species": count.wrong_species or None,
        "length_cm": length_cm,
    }

    def earlier() -> Collection[str | None]:
        return list(LineCount.objects.filter(line=uid).values_list("box", flat=True))

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: earlier(),
            ask=lambda boxes: (*may_count(count, boxes, named=named), *may_be_long(length_cm)),
            tell=lambda boxes: (Told("line_counted", body, texts=note_of(asking)),),
            show=lambda boxes: line_counted_shown(uid),
        ),
    )


def reverse_doa(asking: Asking, *, uid: UUID, count: int, evidence: str) -> Answered:
    """Some that were counted dead on arrival live: they can be placed, as a batch of their own.

    What was counted out of the bags stays as it was told.
    """
    _, site = line_for(asking.person, uid, access.HANDS)
    body = {"line": uid, "count": count, "evidence": evidence}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: balances(uid).get("doa", 0),
            ask=lambda dead: may_reverse_doa(dead, count),
            tell=lambda dead: (Told("doa_reversed", body, texts=note_of(asking)),),
            show=lambda dead: line_counted_shown(uid),
        ),
    )


def match_line(asking: Asking, *, uid: UUID, species: UUID) -> Answered:
    """Say which of the organisation's species a line's printed text means."""
    _, site = line_for(asking.person, uid, access.HANDS)
    if species_of(asking.person, species) is None:
        raise NotFound
    told = Told("line_matched", {"line": uid, "species": species}, texts=note_of(asking))
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=lambda _: (told,),
            show=lambda _: {"line": line_shown(uid)},
        ),
    )


def refuse_known(known: Consignment | None, uid: UUID) -> None:
    """One consignment for one waybill: the second is told which one there is."""
    if known is not None and known.uid == uid:
        raise Refused(refuse("contradicts_record", "This uid is taken.", pointer="/uid"))
    if known is not None:
        text = "This consignment is on record already."
        existing = {
            "uid": known.uid,
            "waybill": known.waybill,
            "list_version": known.list_version,
        }
        raise Refused(refuse("already_applied", text), existing=existing)


def in_parts(
    head: Mapping[str, Any], lines: Sequence[Mapping[str, Any]], texts: Mapping[str, str]
) -> tuple[Told, ...]:
    """A list as one fact, or as several of one group where an entry could not hold it."""
    parts: list[list[Mapping[str, Any]]] = [[]]
    size = 0
    for line in lines:
        length = len(json.dumps(line, default=str, ensure_ascii=False).encode())
        if parts[-1] and size + length > PART_MOST_BYTES:
            parts.append([])
            size = 0
        parts[-1].append(line)
        size += length
    if len(parts) == 1:
        return (Told("list_applied", {**head, "lines": parts[0]}, texts=texts),)
    return tuple(
        Told(
            "list_applied",
            {**head, "part": n, "parts": len(parts), "lines": part},
            texts=texts if n == 1 else {},
        )
        for n, part in enumerate(parts, start=1)
    )


def note_of(asking: Asking) -> dict[str, str]:
    """A note stands beside the entry, where it can be erased."""
    return {"note": asking.note} if asking.note else {}


def _line_body(asking: Asking, one: LineAsked) -> dict[str, Any]:
    species = species_of(asking.person, one.species) if one.species else None
    if one.species and species is None:
        raise NotFound
    body: dict[str, Any] = {
        "line": names.new_uid(asking.now),
        "species": species and species.uid,
        "text": one.text or (species.scientific_name if species else ""),
        "listed": one.listed,
    }
    if len(one.boxes) == 1:
        return {**body, "box": one.boxes[0].box}
    boxes = [{"box": box.box, "listed": box.listed} for box in one.boxes]
    return {**body, "boxes": boxes} if boxes else body
