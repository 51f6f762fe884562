"""A trace: from a thing, forward or back in time, everything that could have been reached."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
import rfc8785

from protocols.clocks import utc_text
from protocols.exposure import Grade
from protocols.tracing import NEVER, UNREACHED, Contacts, Reached, reached
from protocols.tracing_contacts import CARRIERS, Contact, Node

# Counts up whenever the same record would be answered otherwise.
VERSION = "1"
FORWARD, BACK = "forward", "back"
DIRECTIONS = (FORWARD, BACK)
ORDER = list(Grade)


@dataclass(frozen=True, slots=True)
class Question:
    """From which thing (its uid, of hands with the day), which way, from when, up to when.

    Forward from `since`, back from `until`; nothing outside the two counts.
    """

    name: str
    direction: str
    since: datetime | None
    until: datetime


@dataclass(frozen=True, slots=True)
class Found:
    """A thing that was reached: how readily, when, and by which contacts, the start first."""

    kind: str
    name: str
    grade: Grade
    at: datetime
    way: tuple[Contact, ...]


def trace(contacts: Sequence[Contact], asked: Question) -> tuple[Found, ...]:
    """What could have come to whom (forward), or from where (back), the strongest first.

    Each thing once, by its best path. The thing itself is not among them.
    """
    ends = [one for one in contacts if one.since <= asked.until]
    nodes = sorted({node for one in ends for node in (one.begin, one.end)})
    number = {node: n for n, node in enumerate(nodes)}
    columns = _columns(ends, number, asked)
    back = asked.direction == BACK
    first = asked.since or min((one.since for one in ends), default=asked.until)
    begin = -_seconds(asked.until) if back else _seconds(first)
    seeds = {n: begin for node, n in number.items() if node.name == asked.name}
    carriers = np.array([node.kind in CARRIERS for node in nodes], dtype=np.bool_)
    going = columns.turned() if back else columns
    found = reached(going, seeds, nodes=len(nodes), carriers=carriers)
    return _best_of_each(found, nodes, ends, asked)


def _columns(ends: Sequence[Contact], number: dict[Node, int], asked: Question) -> Contacts:
    last = _seconds(asked.until)
    first = None if asked.since is None else _seconds(asked.since)
    rows = []
    for one in ends:
        until = last if one.until is None else min(last, _seconds(one.until))
        since = _seconds(one.since)
        if first is not None:
            since = max(since, first)
        rows.append((number[one.begin], number[one.end], since, until, ORDER.index(one.grade)))
    table = np.array(rows, dtype=np.int64).reshape(-1, 5).T
    return Contacts(table[0], table[1], table[2], table[3], table[4].astype(np.int8))


def _best_of_each(
    found: Reached, nodes: Sequence[Node], contacts: Sequence[Contact], asked: Question
) -> tuple[Found, ...]:
    back = asked.direction == BACK
    best: dict[tuple[str, str], int] = {}
    for n, node in enumerate(nodes):
        if found.grade[n] == UNREACHED or found.when[n] == NEVER or node.name == asked.name:
            continue
        key = (node.kind, node.name)
        rank = (int(found.grade[n]), int(found.when[n]))
        if key not in best or rank < (
            int(found.grade[best[key]]),
            int(found.when[best[key]]),
        ):
            best[key] = n
    every = [
        Found(
            kind,
            name,
            ORDER[found.grade[n]],
            _moment(-int(found.when[n]) if back else int(found.when[n])),
            tuple(contacts[one] for one in found.way_to(n)),
        )
        for (kind, name), n in best.items()
    ]
    return tuple(
        sorted(every, key=lambda one: (ORDER.index(one.grade), one.at, one.kind, one.name))
    )


def as_data(found: Sequence[Found]) -> list[dict[str, Any]]:
    """What is kept and shown of a trace."""
    return [
        {
            "kind": one.kind,
            "name": one.name,
            "grade": str(one.grade),
            "at": utc_text(one.at),
            "way": [
                {
                    "from": {"kind": step.begin.kind, "name": step.begin.name},
                    "to": {"kind": step.end.kind, "name": step.end.name},
                    "way": step.way,
                    "grade": str(step.grade),
                    "by": str(step.by),
                }
                for step in one.way
            ],
        }
        for one in found
    ]


def digest(*parts: Any) -> str:
    """SHA-256 of the RFC 8785 form of the question, the version and the answer, as hex."""
    return hashlib.sha256(rfc8785.dumps(list(parts))).hexdigest()


def _seconds(moment: datetime) -> int:
    return int(moment.timestamp())


def _moment(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)
