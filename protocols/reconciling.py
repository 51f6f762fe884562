"""Which rows of tasks have to change so that they say what is due; what people did stays."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from protocols.tasks import What, Work

# The others are settled only by telling what happened: no tick replaces the fact.
DONE_BY_HAND = frozenset(
    {
        What.PREPARE,
        What.FIX_LID,
        What.REVIEW_MATCH,
        What.PREPARE_CLAIM,
        What.CALL_OUT,
        What.REVIEW_STOCKING,
    }
)


class TaskState(StrEnum):
    OPEN = "open"
    TAKEN = "taken"
    DONE = "done"
    CANCELLED = "cancelled"


OPEN_STATES = frozenset({TaskState.OPEN, TaskState.TAKEN})


@dataclass(frozen=True, slots=True)
class TaskRow:
    """A stored task as far as it is compared: what it says and what became of it."""

    work: Work
    state: TaskState


@dataclass(frozen=True, slots=True)
class Closing:
    """An open task that is wanted no more: done or cancelled, and why."""

    key: str
    state: TaskState
    why: str


@dataclass(frozen=True, slots=True)
class Changes:
    """What to do to the rows, each part in the order of keys."""

    create: tuple[Work, ...] = ()
    update: tuple[Work, ...] = ()
    close: tuple[Closing, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.create or self.update or self.close)


def reconcile(
    existing: Iterable[TaskRow],
    wanted: Iterable[Work],
    *,
    ended: Mapping[UUID, str] | None = None,
) -> Changes:
    """Compare stored tasks with the work that is due now.

    An update leaves who took it. What somebody finished by hand is not asked for again under
    the same key. What is wanted no more is closed: cancelled with the reason of `ended` where
    its batch ended (`all_lost`), else as `settled`: done where only a fact can settle it,
    cancelled where it merely fell away. Doing the changes and comparing again gives none.
    """
    rows = tuple(existing)
    due = {work.key: work for work in wanted}
    live = {row.work.key: row.work for row in rows if row.state in OPEN_STATES}
    finished = {row.work.key for row in rows if _is_finished(row)}
    return Changes(
        create=tuple(due[key] for key in sorted(due.keys() - live.keys() - finished)),
        update=tuple(due[key] for key in sorted(due.keys() & live) if due[key] != live[key]),
        close=tuple(
            _closing(live[key], ended or {}) for key in sorted(live.keys() - due.keys())
        ),
    )


def _is_finished(row: TaskRow) -> bool:
    return row.state is TaskState.DONE and row.work.what in DONE_BY_HAND


def _closing(work: Work, ended: Mapping[UUID, str]) -> Closing:
    if work.batch is not None and work.batch in ended:
        return Closing(work.key, TaskState.CANCELLED, ended[work.batch])
    by_fact = work.what not in DONE_BY_HAND
    return Closing(work.key, TaskState.DONE if by_fact else TaskState.CANCELLED, "settled")
