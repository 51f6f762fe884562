"""How fast a long record book becomes an audit bag, against its bare rows copied out."""

import time
from collections.abc import Callable
from datetime import timedelta
from tempfile import TemporaryFile
from typing import IO
from uuid import UUID, uuid4

from django.db import connection
from django.test import override_settings

from protocols import entries, tree
from stock import jobs
from stock.doors.exports import ask_for_bag
from stock.measuring import Figure
from stock.models import Fact, Log, Person, Site
from stock.queries.exports import path_of

ENTRIES = 50_000
AT_ONCE = 2000
GOAL = 0.3
COLUMNS = "seq, kind, performed_at, recorded_at, doer, body, entry, leaf"


def bagging() -> Figure:
    """Entries by the second into a whole bag, as a part of those that are copied out bare."""
    site = Site.objects.order_by("uid").first()
    person = Person.objects.filter(roles__site=site, roles__role="manager").first()
    if site is None or person is None:
        raise RuntimeError("a bag is measured in the demo")
    _grow(Log.objects.get(uid=site.uid))
    newest = Fact.objects.filter(log=site.uid).latest("seq").recorded_at
    row = ask_for_bag(
        person,
        site=site.uid,
        begins=newest - timedelta(days=1500),
        ends=newest + timedelta(days=1),
        address="https://shop.example",
        at=newest,
    )
    # The second connection knows nothing of a throw-away database.
    with override_settings(REPORTS="default"):
        bag = _seconds(lambda: jobs.run_due(site.uid, newest))
    path_of(row.uid).unlink()
    with TemporaryFile() as file:
        bare = _seconds(lambda: _copied(site.uid, file))
    return Figure("entries into a bag against the same rows copied", bare / bag, GOAL, "")


def _grow(log: Log) -> None:
    """What the demo told, written over and over behind its own end."""
    told = list(Fact.objects.filter(log=log).order_by("seq"))
    growing = tree.Growing()
    for one in told:
        growing.add(bytes(one.leaf))
    for first in range(0, ENTRIES, AT_ONCE):
        rows = [
            _again(told[n % len(told)], len(told) + n, growing)
            for n in range(first, first + AT_ONCE)
        ]
        Fact.objects.bulk_create(rows)
    log.size, log.edge = growing.size, growing.edge().to_text()
    log.save()


def _again(fact: Fact, seq: int, growing: tree.Growing) -> Fact:
    said = entries.read_entry(bytes(fact.entry))
    uid = uuid4()
    entry = entries.entry_bytes({**said, "seq": seq, "uid": uid, "texts": {}})
    leaf = tree.leaf_hash(entry)
    growing.add(leaf)
    kept = {one.attname: getattr(fact, one.attname) for one in Fact._meta.concrete_fields}
    own = {"uid": uid, "seq": seq, "entry": entry, "leaf": leaf}
    return Fact(**{**kept, **own, "device": None, "entry_no": None})


def _copied(site: UUID, file: IO[bytes]) -> None:
    """The least that takes the same rows out of the database: COPY, where there is one."""
    uid = site.hex if connection.vendor == "sqlite" else site
    sql = f"select {COLUMNS} from fact where log = '{uid}' order by seq"  # noqa: S608
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"copy ({sql}) to stdout") as rows:
                for piece in rows:
                    file.write(piece)
            return
        cursor.execute(sql)
        for row in cursor:
            file.write("\t".join(map(str, row)).encode())


def _seconds(work: Callable[[], object]) -> float:
    """By the clock on the wall: a part of the work is the database's."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
