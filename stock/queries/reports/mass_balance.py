"""Received, less dead on arrival, dead, culled, sold, returned, missing: who must be here.

A line of a packing list closes by itself, and so does a batch; so the whole does.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from uuid import UUID

from stock.models import Batch, Fact, Line
from stock.queries.as_of import AsOf, Went, placed_by, places_in, went
from stock.queries.origins import lines_of
from stock.queries.reports.folded import some
from stock.queries.reports.form import Asked, Report, Row, code, number, text
from stock.queries.reports.whereabouts import Whereabouts
from stock.queries.sums import PLACES

AT_ONCE = 200


def rows(asked: Asked) -> Iterator[Row]:
    """First what came, line by line; then what became of it, batch by batch."""
    then = AsOf(at=asked.ends, known_by=asked.known_by)
    for lines in some(_lines(asked), AT_ONCE):
        moved = _by_holder(went(asked.site, [one.uid for one in lines], then))
        for line in lines:
            yield _of_line(line, moved.get(line.uid, ()))
    where = Whereabouts(asked)
    for batches in some(_batches(asked, then), AT_ONCE):
        uids = [one.uid for one in batches]
        moved = _by_holder(went(asked.site, uids, then))
        came = _waybills(uids)
        for batch in batches:
            there = where.of_batch(batch.uid, asked.ends)
            yield _of_batch(batch, moved.get(batch.uid, ()), came.get(batch.uid, ""), there)


def _lines(asked: Asked) -> Iterator[Line]:
    """Lines of consignments listed or delivered within the span, as far as they were known."""
    known = Fact.objects.filter(log=asked.site, seq__lte=asked.known_by)
    lists = known.filter(kind="list_applied").values("subjects__subject")
    found = Line.objects.filter(
        consignment__site=asked.site,
        consignment__listed_at__lt=asked.ends,
        consignment__in=lists,
    ).exclude(consignment__delivered_at__lt=asked.begins)
    if asked.batches:
        came = {uid for lines in lines_of(asked.batches).values() for uid in lines}
        found = found.filter(uid__in=came)
    rows = found.select_related("consignment__supplier", "species")
    return rows.order_by("consignment__listed_at", "consignment", "n").iterator(chunk_size=500)


def _batches(asked: Asked, then: AsOf) -> Iterator[Batch]:
    found = placed_by(Batch.objects.filter(site=asked.site), then)
    if asked.batches:
        found = found.filter(uid__in=asked.batches)
    found = found.exclude(closed_at__lt=asked.begins)
    return found.order_by("placed_at", "code").iterator(chunk_size=500)


def _by_holder(moved: Iterable[Went]) -> Mapping[UUID, list[Went]]:
    found: dict[UUID, list[Went]] = defaultdict(list)
    for one in moved:
        for holder in {one.begin[0], one.end[0]}:
            found[holder].append(one)
    return found


def _of_line(line: Line, moved: Iterable[Went]) -> Row:
    moved = list(moved)
    places = places_in(moved, line.uid)
    received, doa, left = (
        -places.get("outside", 0),
        places.get("doa", 0),
        places.get("received", 0),
    )
    placed = _between(moved, line.uid)
    consignment = line.consignment
    return (
        line.code or None,
        "line",
        consignment.waybill,
        consignment.supplier.name,
        line.species.scientific_name if line.species else line.text,
        None,
        line.listed,
        received,
        doa,
        left,
        placed,
        *(None for _ in range(3 + len(PLACES))),
        received - doa - left - placed,
    )


def _of_batch(batch: Batch, moved: Iterable[Went], waybills: str, where: str | None) -> Row:
    """Placed and born and come in from other batches, less all who are somewhere else since."""
    moved = list(moved)
    places = places_in(moved, batch.uid)
    born = -places.pop("outside", 0)
    came = sum(one.count for one in moved if one.end[0] == batch.uid != one.begin[0])
    passed_on = _between(moved, batch.uid)
    held = sum(places.values())
    return (
        batch.code,
        "batch",
        waybills or None,
        None,
        None,
        where,
        None,
        None,
        None,
        None,
        came,
        born,
        passed_on,
        held,
        *(places.get(place, 0) for place in PLACES),
        came + born - passed_on - held,
    )


def _between(moved: Iterable[Went], holder: UUID) -> int:
    """How many went from here to somebody else."""
    return sum(one.count for one in moved if one.begin[0] == holder != one.end[0])


def _waybills(batches: Iterable[UUID]) -> dict[UUID, str]:
    """From which waybills the animals of each batch can have come. Three queries."""
    lines = lines_of(batches)
    every = {uid for found in lines.values() for uid in found}
    rows = Line.objects.filter(uid__in=every)
    names = dict(rows.values_list("uid", "consignment__waybill"))
    return {
        batch: ", ".join(sorted({name for uid in found if (name := names.get(uid))}))
        for batch, found in lines.items()
    }


MASS_BALANCE = Report(
    "mass-balance",
    (
        *text("code"),
        *code("of"),
        *text("waybill", "supplier", "species", "container"),
        *number("listed", "received", "dead_on_arrival", "left_in_bags", "placed"),
        *number("born_here", "passed_on", "held", *PLACES, "difference"),
    ),
    rows,
)
