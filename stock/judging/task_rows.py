"""Tasks as rows and as work that rules compare."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc, utc_text
from protocols.hours import Span
from protocols.reconciling import TaskRow, TaskState
from protocols.tasks import What, Work
from stock.models import Task

# What a row says is to be done; the others say what became of it.
COLUMNS = (
    "key",
    "what",
    "why",
    "first",
    "batch",
    "container",
    "kit",
    "room",
    "planned",
    "limit",
    "no_slot_between",
    "numbers",
    "waits_for",
    "not_by",
)


def work_of(row: Task) -> Work:
    """What a row says is to be done."""
    return Work(
        key=row.key,
        what=What(row.what),
        why=row.why,
        first=row.first,
        batch=row.batch,
        container=row.container,
        kit=row.kit,
        room=row.room,
        planned=row.planned,
        limit=row.limit,
        no_slot_between=_span(row.no_slot_between),
        numbers=row.numbers,
        waits_for=tuple(row.waits_for),
        not_by=tuple(UUID(one) for one in row.not_by),
    )


def task_row(row: Task) -> TaskRow:
    return TaskRow(work_of(row), TaskState(row.state))


def columns_of(work: Work) -> dict[str, Any]:
    """The columns that say it, by `COLUMNS`."""
    gap = work.no_slot_between
    return {
        "key": work.key,
        "what": work.what.value,
        "why": work.why,
        "first": work.first,
        "batch": work.batch,
        "container": work.container,
        "kit": work.kit,
        "room": work.room,
        "planned": work.planned,
        "limit": work.limit,
        "no_slot_between": gap and {"from": utc_text(gap.start), "to": utc_text(gap.end)},
        "numbers": dict(work.numbers),
        "waits_for": list(work.waits_for),
        "not_by": [str(one) for one in work.not_by],
    }


def as_kept(work: Work) -> Work:
    """The same work with its numbers as a row keeps them: whole, text, or lists of those."""
    return replace(work, numbers={name: _plain(value) for name, value in work.numbers.items()})


def _plain(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    return value if isinstance(value, int | str | bool | None) else str(value)


def _span(said: Mapping[str, str] | None) -> Span | None:
    return None if said is None else Span(parse_utc(said["from"]), parse_utc(said["to"]))
