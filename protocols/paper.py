"""Sheets of paper for a power cut: which lines stand on them, and what a line is called."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from uuid import UUID

from protocols.codes import fact_uid

# A limit of three days may fall into a power cut that begins today.
MOVES_AHEAD = timedelta(hours=72)
WORK_AHEAD = timedelta(hours=36)
LOSS_LINES, SPARE_LINES = 8, 6


class LineKind(StrEnum):
    """What a line is for."""

    MOVE = "move"
    ROUND = "round"
    READING = "reading"
    WORK = "work"
    LOSS = "loss"
    SPARE = "spare"


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line: what is printed of it, and which things it is about.

    `n` is its number on the sheet from 1. `inside` are the labels of the containers of a room.
    `what` is the kind of work, where it is one.
    """

    kind: LineKind
    label: str = ""
    text: str = ""
    due: datetime | None = None
    n: int = 0
    batch: UUID | None = None
    container: UUID | None = None
    kit: UUID | None = None
    room: UUID | None = None
    what: str = ""
    inside: tuple[str, ...] = ()


def numbered(lines: Iterable[SheetLine]) -> tuple[SheetLine, ...]:
    """The lines of a sheet by kind, each with its number; blank ones last."""
    order = list(LineKind)
    blank = [SheetLine(LineKind.LOSS)] * LOSS_LINES + [SheetLine(LineKind.SPARE)] * SPARE_LINES
    known = sorted(lines, key=lambda one: order.index(one.kind))
    return tuple(replace(one, n=n) for n, one in enumerate([*known, *blank], start=1))


def is_ahead(due: datetime | None, now: datetime, span: timedelta) -> bool:
    """Whether something is due within the span, or already was; what has no limit is."""
    return due is None or due - now <= span


def line_fact(sheet: UUID, n: int) -> UUID:
    """The uid of the fact that a line becomes: whoever types it in, it is on record once."""
    return fact_uid(sheet, "paper_line", str(n))


def line_key(code: str, n: int) -> str:
    """The request key of a line."""
    return f"paper:{code}:{n}"


def line_named(lines: Sequence[SheetLine], n: int) -> SheetLine | None:
    """The line with this number; None where the sheet has none."""
    return next((one for one in lines if one.n == n), None)
