"""Happenings of one second: what makes a batch or a stay comes before what speaks of it.

Within a second the ranks of kinds decide, and they know nothing of which batch is meant: a loss
comes before a placement. Told of the batch that was placed in that second, it came after.
"""

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from uuid import UUID

from protocols.animals.follow import FOLLOWS
from protocols.told import Happening
from protocols.uids import as_uid

NAMED = ("batch", "of", "dispatch", "ended_stay")
MAKES_A_BATCH = frozenset({"batch_placed", "batches_joined", "found_again"})
# These alone are put in turn: what else is told of a batch stays where its rank puts it.
OF_ANIMALS = frozenset({*FOLLOWS, "counted"})


def in_turn(told: Iterable[Happening]) -> Iterator[Happening]:
    """The same happenings, sorted as they come, with each second put in turn."""
    for _, second in groupby(told, key=lambda one: one.when.earliest):
        together = tuple(second)
        yield from _put_in_turn(together) if len(together) > 1 else together


def _put_in_turn(together: Sequence[Happening]) -> Iterator[Happening]:
    """The first of those for which nothing else of this second waits, again and again."""
    waits, frees = _edges(together)
    free = [n for n in range(len(together)) if not waits[n]]
    left = set(range(len(together)))
    while left:
        # Two that wait for each other cannot both be true; then the ranks decide.
        n = heapq.heappop(free) if free else min(left)
        if n not in left:
            continue
        left.discard(n)
        yield together[n]
        for one in frees[n]:
            waits[one].discard(n)
            if not waits[one]:
                heapq.heappush(free, one)


def _edges(together: Sequence[Happening]) -> tuple[list[set[int]], dict[int, set[int]]]:
    """For each happening which others it waits for, and which wait for it."""
    makers: dict[UUID, set[int]] = defaultdict(set)
    enders: dict[UUID, set[int]] = defaultdict(set)
    for n, one in enumerate(together):
        for uid in _makes(one):
            makers[uid].add(n)
        for uid in _ends(one):
            enders[uid].add(n)
    waits: list[set[int]] = [set() for _ in together]
    for n, one in enumerate(together):
        for uid in _speaks_of(one):
            waits[n] |= makers[uid] - {n}
            if n not in enders[uid]:
                for ender in enders[uid]:
                    waits[ender].add(n)
    frees: dict[int, set[int]] = defaultdict(set)
    for n, others in enumerate(waits):
        for other in others:
            frees[other].add(n)
    return waits, frees


def _makes(one: Happening) -> Iterator[UUID]:
    """The batches, stays and reports that there are from here on."""
    if one.kind not in OF_ANIMALS:
        return
    body = one.body
    yield from (fact.uid for fact in one.accounts)
    for part in body.get("parts", (body,)):
        if "stay" in part:
            yield as_uid(part["stay"])
    if one.kind == "batch_split":
        yield from (as_uid(part["batch"]) for part in body["parts"])
    elif one.kind in MAKES_A_BATCH and "batch" in body:
        yield as_uid(body["batch"])
    elif one.kind == "animals_dispatched":
        yield as_uid(body["dispatch"])


def _speaks_of(one: Happening) -> Iterator[UUID]:
    if one.kind not in OF_ANIMALS:
        return
    made = set(_makes(one))
    named = [one.body[name] for name in NAMED if name in one.body]
    named += one.body.get("members", ())
    named += [part["batch"] for part in one.body.get("attribution", ())]
    yield from {as_uid(uid) for uid in named} - made


def _ends(one: Happening) -> Iterator[UUID]:
    """The batches that go on as others from here on."""
    if one.kind == "batch_split":
        yield as_uid(one.body["batch"])
    elif one.kind == "batches_joined":
        yield from (as_uid(uid) for uid in one.body["members"])
