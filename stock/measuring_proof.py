"""How fast a record book is read again, against hashing the same bytes from the same rows."""

import time
from collections.abc import Callable
from uuid import uuid4

from protocols import entries, tree
from stock.measuring import Figure
from stock.models import Fact, Log
from stock.verify import verify

ENTRIES = 50_000
AT_ONCE = 2000
GOAL = 0.5


def verifying() -> Figure:
    """Verified entries by the second, as a part of those that are only read and hashed."""
    log = _book()
    ours, bare = _seconds(lambda: _verified(log)), _seconds(lambda: _hashed(log))
    return Figure("verifying against hashing the same entries", bare / ours, GOAL, "")


def _book() -> Log:
    """A long record book out of what the demo told, written over and over."""
    told = list(Fact.objects.order_by("log", "seq")[:ENTRIES])
    log = Log.objects.create(uid=uuid4(), organisation=uuid4())
    growing = tree.Growing()
    for first in range(0, ENTRIES, AT_ONCE):
        rows = [
            _again(told[n % len(told)], log, n, growing) for n in range(first, first + AT_ONCE)
        ]
        Fact.objects.bulk_create(rows)
    log.size, log.edge = growing.size, growing.edge().to_text()
    log.save()
    return log


def _again(fact: Fact, log: Log, seq: int, growing: tree.Growing) -> Fact:
    """The same once more at another place of another book; texts are left behind."""
    said = entries.read_entry(bytes(fact.entry))
    entry = entries.entry_bytes(
        {**said, "log": log.uid, "seq": seq, "uid": uuid4(), "texts": {}}
    )
    told = entries.read_entry(entry)
    leaf = tree.leaf_hash(entry)
    growing.add(leaf)
    kept = {one.attname: getattr(fact, one.attname) for one in Fact._meta.concrete_fields}
    own = {"uid": told["uid"], "log_id": log.uid, "seq": seq, "entry": entry, "leaf": leaf}
    return Fact(**{**kept, **own, "device": None, "entry_no": None})


def _verified(log: Log) -> None:
    if wrong := verify(log):
        raise RuntimeError(f"entry {wrong.seq}: {wrong.why}")


def _hashed(log: Log) -> None:
    """The least that shows the root: every entry read once and hashed into the tree."""
    growing, last = tree.Growing(), -1
    rows = Fact.objects.filter(log=log).order_by("seq")
    while some := list(rows.filter(seq__gt=last).values_list("seq", "entry")[:AT_ONCE]):
        for _, entry in some:
            growing.add(tree.leaf_hash(bytes(entry)))
        last = some[-1][0]


def _seconds(work: Callable[[], None]) -> float:
    """Of the processor, for the quickest of three times."""
    took = []
    for _ in range(3):
        began = time.process_time()
        work()
        took.append(time.process_time() - began)
    return min(took)
