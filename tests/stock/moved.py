"""A batch that was moved once, in a shop with hours, and what is told of it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import Any

from django.test import Client
from pytest_django import DjangoDbBlocker

from stock.judging import tasks
from tests.certified import kept, open_floor
from tests.floor import Floor
from tests.walk import Walk
from tests.working import set_hours

PLACED = datetime.fromisoformat("2027-02-03T08:00:00+01:00")
HOUR = timedelta(hours=1)
MOVED = PLACED + 70 * HOUR


@contextmanager
def moved_once(blocker: DjangoDbBlocker) -> Iterator[tuple[Floor, str, dict[str, Any], Walk]]:
    """24 anthias, moved from R1-01 with kit A-1 to R1-02 with B-1; and a keeper beside."""
    with kept(blocker):
        floor = open_floor(Client(), PLACED, containers=5, kits=4)
        set_hours(floor.walk)
        keeper = floor.walk.as_person("Ada", "keeper")
        batch = floor.place(24, "R1-01", "A-1", at=PLACED)
        moved = floor.move(batch, "R1-02", "B-1", [24], at=MOVED)
        yield floor, batch, moved, keeper


def lose(floor, batch, count, hours=1):
    line = {"batch": batch, "fate": "dead", "count": count, "cause": ["unknown"]}
    return floor.walk.at(MOVED + hours * HOUR).post("losses", {"lines": [line]})


def miss(floor, batch, count):
    """So many not found where they were before the move."""
    told = {"count": count, "container": floor.uids["R1-01"]}
    return floor.walk.post(f"batches/{batch}/missing", told)


def search(floor):
    container = floor.uids["R1-01"]
    return floor.walk.post(f"containers/{container}/emptyings", {"searched": True})


def now(floor):
    return datetime.fromisoformat(floor.walk.now).astimezone(UTC)


def nothing_to_change(floor):
    """Whether all tasks of the site say what is due."""
    return tasks.is_in_line(floor.walk.site, now(floor))


def newest_hours(floor):
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/hours")
    return int(answer.headers["ETag"].strip('"'))
