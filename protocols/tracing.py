"""What could have passed from where to where: paths of contacts that never go back in time.

A contact joins two nodes from one second to another. Something passes along it once it is at
the one node and while the contact lasts; so a path holds only if its contacts can be gone
through one after the other. Backwards is the same with time turned round.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.int64]
Grades = npt.NDArray[np.int8]
Flags = npt.NDArray[np.bool_]

# As in `exposure.Grade`, the strongest first.
STRONG, LIKELY, POSSIBLE, UNREACHED = 0, 1, 2, 3
NEVER = int(np.iinfo(np.int64).max)
NOBODY = -1

# How far a path has used up what it may: by strong contacts alone; by likely ones as well; on a
# carrier by a possible one; past its possible contact. -1: it may not go on that way.
LEVELS, GRADE_OF = 4, (STRONG, LIKELY, POSSIBLE, POSSIBLE)
_NEXT = np.array(
    [  # strong, likely, possible; each: onto anything else, onto a carrier
        [[0, 0], [1, 1], [3, 2]],
        [[1, 1], [1, 1], [3, 2]],
        [[-1, -1], [-1, -1], [3, -1]],
        [[3, 3], [3, 3], [-1, -1]],
    ],
    dtype=np.int64,
)


@dataclass(frozen=True, slots=True)
class Contacts:
    """Columns of one length: from which node to which, from when to when (both included).

    Times are whole seconds, nodes are numbers from 0, grades `STRONG`, `LIKELY` or `POSSIBLE`.
    """

    begin: Numbers
    end: Numbers
    since: Numbers
    until: Numbers
    grade: Grades

    def turned(self) -> "Contacts":
        """The same with direction and time turned round: for going back."""
        return Contacts(self.end, self.begin, -self.until, -self.since, self.grade)


@dataclass(frozen=True, slots=True)
class Reached:
    """Per node the grade of its best path (`UNREACHED` for none) and when that first arrived.

    `when` is `NEVER` where nothing leads. `by` and `before` say for each node and level by
    which contact, and from which node at which level, it was reached.
    """

    grade: Grades
    when: Numbers
    state: Numbers
    by: Numbers
    before: Numbers

    def way_to(self, node: int) -> tuple[int, ...]:
        """The contacts of the path to a node, in the order in which they are gone through."""
        if self.grade[node] == UNREACHED:
            return ()
        path, state = [], int(self.state[node])
        while self.by[state] != NOBODY:
            path.append(int(self.by[state]))
            state = int(self.before[state])
        return tuple(reversed(path))


def reached(
    contacts: Contacts, seeds: Mapping[int, int], *, nodes: int, carriers: Flags
) -> Reached:
    """Every node to which something that is at `seeds` (node: second) could have come.

    The grade of a path is that of its weakest contact; a node has that of its best path, and of
    the paths so good the earliest. Of merely possible contacts a path has one, or two that lead
    onto and off a carrier (hands, an instrument): else everything in a room reaches everything.
    Whole seconds in, whole seconds out; goes through each contact about once.
    """
    when = np.full(LEVELS * nodes, NEVER, dtype=np.int64)
    by = np.full(LEVELS * nodes, NOBODY, dtype=np.int64)
    before = np.full(LEVELS * nodes, NOBODY, dtype=np.int64)
    for node, second in seeds.items():
        when[node] = second
    order = np.argsort(contacts.begin, kind="stable")
    starts = np.searchsorted(contacts.begin[order], np.arange(nodes + 1))
    # No path ever comes back to a lower level, so that each level is finished before the next.
    for level in range(LEVELS):
        here = slice(level * nodes, (level + 1) * nodes)
        edge = np.flatnonzero(when[here] != NEVER) + level * nodes
        while edge.size:
            state, arc = _leaving(edge, order, starts, nodes)
            at = np.maximum(when[state], contacts.since[arc])
            state, arc, at = _only(at <= contacts.until[arc], state, arc, at)
            onto = carriers[contacts.end[arc]].astype(np.int64)
            after = _NEXT[level, contacts.grade[arc], onto]
            state, arc, at, after = _only(after >= 0, state, arc, at, after)
            target = after * nodes + contacts.end[arc]
            better = at < _earliest_as_good(when, target, nodes)
            state, arc, at, target = _only(better, state, arc, at, target)
            first = _first_of_each(target, at, arc)
            state, arc, at, target = _only(first, state, arc, at, target)
            when[target], by[target], before[target] = at, arc, state
            edge = target[target // nodes == level]
    return _best(when, by, before, nodes)


def _leaving(
    edge: Numbers, order: Numbers, starts: Numbers, nodes: int
) -> tuple[Numbers, Numbers]:
    """Every contact that leads away from these states, beside its state."""
    node = edge % nodes
    number = starts[node + 1] - starts[node]
    state = np.repeat(edge, number)
    offset = np.arange(state.size) - np.repeat(np.cumsum(number) - number, number)
    return state, order[np.repeat(starts[node], number) + offset]


def _only(which: npt.NDArray[Any], *columns: Numbers) -> tuple[Numbers, ...]:
    return tuple(column[which] for column in columns)


def _earliest_as_good(when: Numbers, target: Numbers, nodes: int) -> Numbers:
    """When each of these was reached so far at its level or a better one.

    Whoever is there as early by a better path can do all that the weaker one can.
    """
    node, level = target % nodes, target // nodes
    found = when[target]
    for better in range(LEVELS - 1):
        # A carrier held by a possible contact may do less than what is past its contact.
        counts = (level > better) & (better != 2)
        np.minimum(found, when[better * nodes + node], out=found, where=counts)
    return found


def _first_of_each(target: Numbers, at: Numbers, arc: Numbers) -> Numbers:
    """Of each target the earliest arrival; of two in one second the contact named first."""
    order = np.lexsort((arc, at, target))
    ordered = target[order]
    return (
        order[np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]])] if order.size else order
    )


def _best(when: Numbers, by: Numbers, before: Numbers, nodes: int) -> Reached:
    levels = when.reshape(LEVELS, nodes)
    grade = np.full(nodes, UNREACHED, dtype=np.int8)
    best = np.full(nodes, NEVER, dtype=np.int64)
    state = np.full(nodes, NOBODY, dtype=np.int64)
    for level in range(LEVELS):
        there = (levels[level] != NEVER) & (
            (grade > GRADE_OF[level]) | ((grade == GRADE_OF[level]) & (levels[level] < best))
        )
        grade[there] = GRADE_OF[level]
        best[there] = levels[level][there]
        state[there] = level * nodes + np.flatnonzero(there)
    return Reached(grade, best, state, by, before)
