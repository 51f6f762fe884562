"""Sealed pages: what makes proofs of a record book short, and checkpoints on a timetable.

Outside the doors: entries that are there never change, so this may come later, be repeated,
and be done by two at once.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from uuid import UUID

from protocols import tree
from protocols.tree_proofs import KEPT_LEVEL, Subtree
from stock.models import Checkpoint, Fact, KeptSubtree, Log
from stock.queries.tree_proofs import edge_at, note_at

BLOCK = 1 << KEPT_LEVEL
# So many entries are worked up at once: a book that was there before is sealed bit by bit.
AT_ONCE = 1024 * BLOCK
SEALED_EVERY = timedelta(hours=1)


def look_after(site: UUID, at: datetime) -> None:
    """Bring the record books of a site and of its organisation up to date."""
    organisation = Log.objects.values_list("organisation", flat=True).get(uid=site)
    for log in (site, organisation):
        while keep_subtrees(log):
            pass
        seal(log, at)


def keep_subtrees(log: UUID) -> int:
    """Keep the subtrees that are complete and not kept yet; how many were added."""
    size = Log.objects.values_list("size", flat=True).get(uid=log)
    lowest = KeptSubtree.objects.filter(log=log, level=KEPT_LEVEL).order_by("-position")
    newest = lowest.values_list("position", flat=True).first()
    first = 0 if newest is None else (newest + 1) * BLOCK
    stop = min(size - size % BLOCK, first + AT_ONCE)
    if first >= stop:
        return 0
    rows = [
        KeptSubtree(log_id=log, level=one.level, position=one.position, root=root)
        for one, root in _complete(log, first, stop)
    ]
    KeptSubtree.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def _complete(log: UUID, first: int, stop: int) -> Iterator[tuple[Subtree, bytes]]:
    edge = edge_at(log, first)
    leaves = Fact.objects.filter(log=log, seq__gte=first, seq__lt=stop).order_by("seq")
    for leaf in leaves.values_list("leaf", flat=True).iterator(chunk_size=2000):
        for level, root in enumerate(tree.completed(edge, bytes(leaf)), 1):
            if level >= KEPT_LEVEL:
                yield Subtree(level, edge.size >> level), root
        edge = tree.append(edge, bytes(leaf))


def seal(log: UUID, at: datetime) -> bool:
    """Sign how far the record book has come: every hour in which something was entered, and
    after every certificate. Whether a page was sealed."""
    size = Log.objects.values_list("size", flat=True).get(uid=log)
    last = Checkpoint.objects.filter(log=log).order_by("-size").first()
    if size == 0 or (last is not None and (last.size >= size or not _due(last, at))):
        return False
    _, made = Checkpoint.objects.get_or_create(
        log_id=log, size=size, defaults={"note": note_at(log, size), "made_at": at}
    )
    return made


def _due(last: Checkpoint, at: datetime) -> bool:
    if at - last.made_at >= SEALED_EVERY:
        return True
    since = Fact.objects.filter(log=last.log_id, seq__gte=last.size)
    return since.filter(kind="certificate_issued").exists()
