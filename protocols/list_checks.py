"""What is strange about a packing list that can be read: sums, doubles, dates, waybills."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import accumulate

from protocols.list_dates import spell
from protocols.list_lines import Findings
from protocols.list_numbers import read_number
from protocols.list_rows import Printed, SortedRows, Total
from protocols.list_values import ListedLine, Note, Problem
from protocols.said import said as sentence

AHEAD = timedelta(days=60)


def check_totals(piles: SortedRows, lines: Sequence[ListedLine], findings: Findings) -> None:
    """Each printed total against the lines above it: all of them, or those since the last.

    A total agrees by either decimal sign; it is compared only, never counted.
    """
    breaks = sorted([0, *piles.breaks, *(total.row for total in piles.totals)])
    rows = [line.row for line in lines]
    sums = [0, *accumulate(line.listed for line in lines)]
    for total in piles.totals:
        since = breaks[max(bisect_left(breaks, total.row) - 1, 0)]
        above = sums[bisect_left(rows, total.row)]
        _compare(total, (above, above - sums[bisect_right(rows, since)]), findings)


def _compare(total: Total, sums: tuple[int, int], findings: Findings) -> None:
    number = read_number(total.text)
    said = {number.comma, number.point} - {None}
    if not said:
        return
    if said.intersection(sums):
        told = sentence(
            "Row {row}: {total} is what the lines add up to.",
            row=total.row,
            total=total.text.strip(),
        )
        findings.notes.append(Note("total", told))
        return
    detail = sentence(
        "The list says {total}, its lines add up to {sums}.",
        total=total.text.strip(),
        sums=sums[0],
    )
    quantity = findings.header.of("quantity")
    heading = quantity[0].name if quantity else None
    findings.problems.append(
        Problem(total.row, heading, "sum_differs", detail, total.text, blocks=False)
    )


def check_twice(lines: Sequence[ListedLine], findings: Findings) -> None:
    """Rows that are equal in everything printed may be one line told twice."""
    first: dict[tuple[object, ...], int] = {}
    for line in lines:
        same = (
            *(line.box, line.bag, line.code, line.text, line.scientific_name, line.size),
            *(line.listed, line.price),
        )
        if same in first:
            detail = sentence("This row is the same as row {first}.", first=first[same])
            problem = Problem(line.row, None, "twice", detail, line.text, blocks=False)
            findings.problems.append(problem)
        first.setdefault(same, line.row)


def check_dates(
    lines: Sequence[Printed],
    arrives: Mapping[int, date],
    ordered: Mapping[int, date],
    today: date,
    findings: Findings,
) -> None:
    """Arrivals more than 60 days ahead or before their order are flagged, not refused."""
    for line in lines:
        arrival, order = arrives.get(line.row), ordered.get(line.row)
        if arrival and arrival > today + AHEAD:
            detail = sentence(
                "{arrival} is more than {days} days ahead.",
                arrival=spell(arrival),
                days=AHEAD.days,
            )
            findings.add(line, "arrival", "far_future", detail, blocks=False)
        if order and order > today + AHEAD:
            detail = sentence(
                "{order} is more than {days} days ahead.", order=spell(order), days=AHEAD.days
            )
            findings.add(line, "ordered", "far_future", detail, blocks=False)
        if arrival and order and arrival < order:
            detail = sentence(
                "{arrival} is before the order of {order}.",
                arrival=spell(arrival),
                order=spell(order),
            )
            findings.add(line, "arrival", "before_order", detail, blocks=False)


def one_waybill(lines: Sequence[Printed], findings: Findings) -> str | None:
    """The waybill of the list; a second one is told, since a consignment has only one."""
    said = [line for line in lines if line.of("waybill")]
    for line in said:
        if line.of("waybill") != said[0].of("waybill"):
            detail = sentence("Another waybill than {of}.", of=said[0].of("waybill"))
            findings.add(line, "waybill", "several_waybills", detail, blocks=False)
    return said[0].of("waybill") if said else None
