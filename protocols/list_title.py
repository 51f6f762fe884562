"""What the rows above the headings say of the whole list: waybill, order and arrival."""

from collections.abc import Iterator, Sequence

from protocols.list_rows import Printed
from protocols.list_values import Row
from protocols.list_words import field_of

TOLD = frozenset({"waybill", "arrival", "ordered"})


def read_title(rows: Sequence[Row]) -> tuple[Printed, ...]:
    """Each thing told above the headings as a printed row of its own.

    A label and its value stand in one cell («AWB: 123-45678901») or in two neighbours.
    """
    return tuple(
        Printed(row.number, {name: text}, {name: kind})
        for row in rows
        for name, text, kind in _told(row)
    )


def _told(row: Row) -> Iterator[tuple[str, str, str]]:
    for place, cell in enumerate(row.cells):
        label, _, value = cell.partition(":")
        name = field_of(label)
        if name in TOLD:
            yield from _value(row, place, name, value.strip())


def _value(row: Row, place: int, name: str, value: str) -> Iterator[tuple[str, str, str]]:
    if value:
        yield name, value, ""
        return
    for beside in range(place + 1, len(row.cells)):
        if row.cells[beside]:
            yield name, row.cells[beside], row.kind(beside)
            return
