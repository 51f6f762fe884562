"""How fast the heart is, in figures of this machine: nothing here is asserted."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any
from uuid import UUID, uuid5

from django.db import connection, transaction

from protocols.judgement import judge
from protocols.lineage import history
from protocols.order import happenings
from protocols.values import Fact, Lineage, Placing, Readiness, RulesHistory, State
from protocols.versions import DEFAULT, protocol

NAMES = UUID("00000000-0000-5000-8000-000000000000")
BEGIN = datetime(2027, 1, 4, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)
READY = Placing(Readiness(State.READY), Readiness(State.READY))
FACTS = 40


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure beside the goal or limit that it is held against."""

    what: str
    measured: float
    against: float
    unit: str

    @property
    def ratio(self) -> float:
        return self.measured / self.against


def judged_per_second(courses: int = 500, goal: float = 2000.0) -> Figure:
    """Courses of 40 facts, folded and judged on one core; against the goal."""
    told = [_course(n) for n in range(courses)]
    began = time.process_time()
    for batch, facts, stays in told:
        at = BEGIN + 400 * HOUR
        folded = happenings(facts, at=at, rules=RulesHistory())
        judge(
            history(batch, folded, Lineage({})),
            protocol=protocol(DEFAULT),
            rules=RulesHistory(),
            places=dict.fromkeys(stays, READY),
            cover={},
            at=at,
        )
    return Figure("courses judged", courses / (time.process_time() - began), goal, "1/s")


def _course(n: int) -> tuple[UUID, list[Fact], list[UUID]]:
    """A batch placed, moved five times and counted in between: 40 facts."""
    batch, keeper = _name(n, "batch"), _name(n, "keeper")
    stays = [_name(n, "stay", k) for k in range(6)]
    numbers = count()

    def fact(kind: str, hours: float, body: dict[str, Any]) -> Fact:
        seq, at = next(numbers), BEGIN + hours * HOUR
        uid = _name(n, kind, seq)
        return Fact(uid, seq, kind, at, at, keeper, keeper, {"batch": str(batch), **body})

    where = [{"stay": str(stay), "container": str(_name(n, "c", str(stay)))} for stay in stays]
    placed = {"from": [{"line": str(_name(n, "line")), "count": 20}], "counts": [20]}
    told = [fact("batch_placed", 0, {**where[0], **placed})]
    for k in range(1, 6):
        ended = {"ended_stay": str(stays[k - 1]), "counts": [20], "missing": 0}
        told.append(fact("batch_moved", 60 * k, {**where[k], **ended}))
    told += [fact("counted", 5 + 8 * k, {"counts": [20]}) for k in range(FACTS - len(told))]
    return batch, told, stays


def _name(*parts: Any) -> UUID:
    return uuid5(NAMES, ":".join(map(str, parts)))


def door_against_sql(change: Callable[[], Any], times: int = 20) -> Figure:
    """How often a second a change passes its door, against its own SQL by the bare driver.

    Each time is rolled back, so that both do the same work again and again.
    """
    statements: list[tuple[str, Any]] = []
    with rolled_back(), connection.execute_wrapper(_recorder(statements)):
        change()
    began = time.perf_counter()
    for _ in range(times):
        with rolled_back():
            change()
    through_door = times / (time.perf_counter() - began)
    return Figure("a move through its door", through_door, _bare(statements, times), "1/s")


def _bare(statements: list[tuple[str, Any]], times: int) -> float:
    """How often a second the bare driver runs these statements, fetching what they give."""
    sqlite = connection.vendor == "sqlite"
    prepared = [(sql.replace("%s", "?") if sqlite else sql, given) for sql, given in statements]
    began = time.perf_counter()
    for _ in range(times):
        with rolled_back():
            cursor = connection.connection.cursor()
            for sql, given in prepared:
                cursor.execute(sql, given or ())
                if cursor.description:
                    cursor.fetchall()
    return times / (time.perf_counter() - began)


def _recorder(into: list[tuple[str, Any]]) -> Callable[..., Any]:
    def record(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        into.append((sql, params))
        return execute(sql, params, many, context)

    return record


@contextmanager
def rolled_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
