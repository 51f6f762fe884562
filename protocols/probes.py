"""Values that a probe sends: even runs of them, what a gap proves, and when one fails.

A gap proves nothing, so no value is ever made up for it: a series ends there and another one
begins. Judging reads the single values (`cover.py`).
"""

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from protocols.clocks import OffsetMissing, Unreadable, read_moment
from protocols.ruled import Reason

SECOND = timedelta(seconds=1)
# A lone value has no step; as a series of one it is said with this.
LONE_STEP_S = 3600
COLUMNS = ("time", "probe", "container", "quantity", "unit", "value")
ROWS_MOST = 5000
# So many equal values are needed before a probe counts as stuck.
STUCK_LEAST = 6


@dataclass(frozen=True, slots=True)
class Run:
    """Values `step_s` seconds apart from `start`, without a gap; `at` are their places in
    what was sent."""

    start: datetime
    step_s: int
    values: tuple[str, ...]
    at: tuple[int, ...]


def runs(start: datetime, step_s: int, values: Sequence[str | None]) -> tuple[Run, ...]:
    """The series without its gaps (None): a run for each part of it that has values."""
    found: list[Run] = []
    held: list[tuple[int, str]] = []
    for number, value in enumerate((*values, None)):
        if value is not None:
            held.append((number, value))
        elif held:
            first = held[0][0]
            begins = start + first * step_s * SECOND
            places, said = zip(*held, strict=True)
            found.append(Run(begins, step_s, said, places))
            held = []
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table as it was read; `number` counts from 1, without the heading."""

    number: int
    at: datetime
    probe: str
    container: str
    quantity: str
    unit: str
    value: str | None


def read_table(text: str, *, at: str) -> tuple[Row, ...] | tuple[Reason, ...]:
    """The rows of a CSV table, else every reason why it cannot be read, by row below `at`.

    The first line names the columns, in any order: time (with its offset from UTC), probe,
    container, quantity, unit, value. An empty value is a gap.
    """
    lines = csv.DictReader(io.StringIO(text.lstrip("\ufeff"), newline=""), strict=True)
    try:
        missing = [name for name in COLUMNS if name not in (lines.fieldnames or ())]
        if missing:
            names = ", ".join(missing)
            return (_fault("missing_column", f"These columns are missing: {names}.", at),)
        rows = list(lines)
    except csv.Error:
        return (_fault("unreadable", "This is no table with commas.", at),)
    if not 0 < len(rows) <= ROWS_MOST:
        return (_fault("unreadable", f"Send 1 to {ROWS_MOST} rows.", at),)
    read = [_row(number, one, f"{at}/{number}") for number, one in enumerate(rows, start=1)]
    wrong = tuple(one for one in read if isinstance(one, Reason))
    return wrong or tuple(one for one in read if isinstance(one, Row))


def series_of(rows: Iterable[Row]) -> Iterator[tuple[Row, Run]]:
    """Even runs of what one table says, each with its first row; same rows are one.

    Where times are not even, the step is the one that most of them have, and the others
    begin a run of their own.
    """
    by_what: dict[tuple[str, ...], dict[datetime, Row]] = {}
    for one in rows:
        what = (one.probe, one.container, one.quantity, one.unit)
        by_what.setdefault(what, {}).setdefault(one.at, one)
    for found in by_what.values():
        each = [found[moment] for moment in sorted(found)]
        step = _usual_step(each)
        for part in _even(each, step):
            values = tuple(str(one.value) for one in part)
            run = Run(part[0].at, step, values, tuple(one.number for one in part))
            yield part[0], run


def differing(rows: Iterable[Row], *, at: str) -> Iterator[Reason]:
    """Rows that say another value for the same probe, container, quantity and time."""
    known: dict[tuple[object, ...], Row] = {}
    for one in rows:
        what = (one.probe, one.container, one.quantity, one.unit, one.at)
        if known.setdefault(what, one).value != one.value:
            text = f"Row {known[what].number} says another value for the same moment."
            yield _fault("contradicts_record", text, f"{at}/{one.number}")


def is_silent(last_at: datetime, at: datetime, *, after_s: int) -> bool:
    """Whether nothing came for longer than the site waits. Exactly that long is not."""
    return at - last_at > timedelta(seconds=after_s)


def stuck_since(values: Sequence[tuple[datetime, str]], *, after_s: int) -> datetime | None:
    """From when a probe has shown one value for so long that it cannot be believed.

    `values` by time, the newest last. Water never stays the same to the last digit; None
    while the newest equal values are fewer than `STUCK_LEAST` or shorter than `after_s`.
    """
    same = 0
    for _, value in reversed(values):
        if value != values[-1][1]:
            break
        same += 1
    if same < STUCK_LEAST:
        return None
    since = values[len(values) - same][0]
    long = values[-1][0] - since >= timedelta(seconds=after_s)
    return since if long else None


def _row(number: int, said: Mapping[str, str | None], at: str) -> Row | Reason:
    given = {name: (said.get(name) or "").strip() for name in COLUMNS}
    for name in ("probe", "container", "quantity", "unit"):
        if not given[name]:
            return _fault("missing", f"Row {number} names no {name}.", f"{at}/{name}")
    try:
        moment, _ = read_moment(given["time"])
    except OffsetMissing:
        text = f"Row {number}: say the offset from UTC, such as +01:00 or Z."
        return _fault("offset_missing", text, f"{at}/time")
    except Unreadable:
        return _fault("unreadable", f"Row {number}: this is no time.", f"{at}/time")
    value = given.pop("value") or None
    del given["time"]
    return Row(number, moment, value=value, **given)


def _usual_step(rows: Sequence[Row]) -> int:
    steps = Counter((two.at - one.at) // SECOND for one, two in pairwise(rows))
    return max(steps.items(), key=lambda pair: (pair[1], -pair[0]), default=(LONE_STEP_S, 1))[0]


def _even(rows: Sequence[Row], step_s: int) -> Iterator[list[Row]]:
    part: list[Row] = []
    for one in rows:
        follows = part and one.at - part[-1].at == step_s * SECOND
        if part and (one.value is None or not follows):
            yield part
            part = []
        if one.value is not None:
            part.append(one)
    if part:
        yield part


def _fault(code: str, text: str, at: str) -> Reason:
    return Reason(code=code, rule=code, text=text, pointer=at)
