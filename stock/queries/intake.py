"""Consignments and lines as they are shown: papers, counts and balances, never mixed up."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from protocols.clocks import elapsed_text
from protocols.deadlines import claim_deadlines
from protocols.intake import BoxCounted, BoxListed, LineSum, line_sum
from stock.models import Balance, Consignment, Line, LineCount
from stock.queries.batches import timed

PAGE = 20
SUMS = ("listed", "received", "doa", "placed", "left", "short", "over")
CLAIMS = {
    "doa": "Dead on arrival",
    "short": "Fewer than listed",
    "wrong_species": "Another species than listed",
}


def consignment_shown(uid: UUID, at: datetime) -> dict[str, Any]:
    """One consignment with its lines, every sum, and the ends of its windows. Four queries."""
    consignment = _consignments().get(uid=uid)
    lines = lines_shown([uid])[uid]
    return {
        **_head(consignment),
        **_sums(lines),
        "claim_deadlines": deadlines_shown(consignment, at),
        "lines": lines,
    }


def consignment_page(site: UUID, *, after: UUID | None) -> dict[str, Any]:
    """The consignments of a site with their sums, newest first, a page at a time. Five queries.

    `after` is the last one of the page before; one that is not there gives an empty page.
    """
    rows = _consignments().filter(site=site).order_by("-listed_at", "-uid")
    if after is not None:
        last = Consignment.read(uid=after, site=site)
        rows = rows.none() if last is None else _older(rows, last)
    found = list(rows[: PAGE + 1])
    page = found[:PAGE]
    lines = lines_shown([one.uid for one in page])
    return {
        "consignments": [{**_head(one), **_sums(lines[one.uid])} for one in page],
        "after": page[-1].uid if len(found) > PAGE else None,
    }


def delivery_shown(uid: UUID, at: datetime) -> dict[str, Any]:
    """What a delivery answers: until when which claims are taken. One query."""
    consignment = _consignments().get(uid=uid)
    return {
        "consignment": _head(consignment),
        "claim_deadlines": deadlines_shown(consignment, at),
    }


def deadlines_shown(consignment: Consignment, at: datetime) -> list[dict[str, Any]]:
    """The ends of the windows for claims, counted from the delivery; none before it."""
    if consignment.delivered_at is None:
        return []
    zone = ZoneInfo(consignment.site.zone)
    terms = consignment.supplier.claim_terms
    return [
        {
            "kind": one.kind,
            "text": CLAIMS.get(one.kind, one.kind.replace("_", " ").capitalize()),
            **timed("at", one.at, zone),
            **timed("remind_at", one.remind_at, zone),
            "left_s": int((one.at - at).total_seconds()),
            "left_text": elapsed_text(one.at - at),
        }
        for one in claim_deadlines(consignment.delivered_at, terms)
    ]


def line_shown(uid: UUID) -> dict[str, Any]:
    """One line with its sums. Three queries."""
    return next(shown for _, shown in _shown_lines(Line.objects.filter(uid=uid)))


def line_counted_shown(uid: UUID) -> dict[str, Any]:
    """What a count answers: the numbers of its line, and the line. Three queries."""
    line = line_shown(uid)
    return {**{name: line[name] for name in SUMS}, "line": line}


def _consignments() -> QuerySet[Consignment]:
    return Consignment.objects.select_related("supplier", "site")


def _older(rows: QuerySet[Consignment], last: Consignment) -> QuerySet[Consignment]:
    same = rows.filter(listed_at=last.listed_at, uid__lt=last.uid)
    return rows.filter(listed_at__lt=last.listed_at) | same


def _head(one: Consignment) -> dict[str, Any]:
    zone = ZoneInfo(one.site.zone)
    return {
        "uid": one.uid,
        "site": one.site_id,
        "supplier": one.supplier_id,
        "supplier_name": one.supplier.name,
        "waybill": one.waybill,
        "list_version": one.list_version,
        "file": one.file,
        **timed("listed_at", one.listed_at, zone),
        **timed("delivered_at", one.delivered_at, zone),
    }


def _sums(lines: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The lines added up; what is short or over stays pinned to its box."""
    boxes: dict[str, dict[str, Any]] = {}
    for line in lines:
        for box in line["boxes"]:
            if box["box"] is not None:
                _add(boxes, box)
    return {
        **{name: sum(line[name] for line in lines) for name in SUMS},
        "lines_counted": sum(line["counted"] for line in lines),
        "lines_listed": len(lines),
        "boxes": list(boxes.values()),
    }


def _add(boxes: dict[str, dict[str, Any]], box: Mapping[str, Any]) -> None:
    told = boxes.setdefault(
        box["box"],
        {"box": box["box"], "listed": 0, "received": 0, "doa": 0, "short": 0, "over": 0},
    )
    unknown = told["listed"] is None or box["listed"] is None
    told["listed"] = None if unknown else told["listed"] + box["listed"]
    for name in ("received", "doa", "short", "over"):
        told[name] += box[name]


def lines_shown(consignments: Sequence[UUID]) -> dict[UUID, list[dict[str, Any]]]:
    """The lines of these consignments, as shown, in the order of their lists. Three queries."""
    found: dict[UUID, list[dict[str, Any]]] = {uid: [] for uid in consignments}
    for line, shown in _shown_lines(Line.objects.filter(consignment__in=consignments)):
        found[line.consignment_id].append(shown)
    return found


def _shown_lines(rows: QuerySet[Line]) -> Iterator[tuple[Line, dict[str, Any]]]:
    uids = rows.values("uid")
    counts: dict[UUID, list[BoxCounted]] = defaultdict(list)
    for row in LineCount.objects.filter(line__in=uids).order_by("performed_at", "fact"):
        counted = BoxCounted(row.box, row.received, row.doa, row.wrong_species)
        counts[row.line_id].append(counted)
    places: dict[UUID, dict[str, int]] = defaultdict(dict)
    balances = Balance.objects.filter(holder__in=uids)
    for holder, place, n in balances.values_list("holder", "place", "n"):
        places[holder][place] = n
    for line in rows.select_related("species").order_by("consignment", "n"):
        yield line, _shown(line, counts[line.uid], places[line.uid])


def _shown(
    line: Line, counts: Sequence[BoxCounted], places: Mapping[str, int]
) -> dict[str, Any]:
    sums = line_sum(line.listed, _printed(line), counts)
    received, doa = -places.get("outside", 0), places.get("doa", 0)
    left = places.get("received", 0)
    return {
        "uid": line.uid,
        "n": line.n,
        "box": line.box,
        "bag": line.bag,
        "text": line.text,
        "species": line.species_id,
        "scientific_name": line.species.scientific_name if line.species else None,
        "price": line.price,
        "listed": line.listed,
        "received": received,
        "doa": doa,
        "placed": received - doa - left,
        "left": left,
        **_compared(sums),
    }


def _compared(sums: LineSum) -> dict[str, Any]:
    return {
        "short": sums.short,
        "over": sums.over,
        "counted": sums.counted,
        "boxes": [asdict(box) for box in sums.boxes],
    }


def _printed(line: Line) -> tuple[BoxListed, ...]:
    if line.boxes:
        return tuple(BoxListed(one["box"], one.get("listed")) for one in line.boxes)
    return () if line.box is None else (BoxListed(line.box, line.listed),)
