"""One pass over what was told of a family, in the order of happenings."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from uuid import UUID

from protocols.animals import headcounts, places
from protocols.animals.kept import Animals, Misfit, gone_from
from protocols.settling import SETTLED
from protocols.told import Happening, When
from protocols.uids import as_uid
from protocols.versions import OURS, Versions

Follow = Callable[[Animals, Happening], None]

FOLLOWS: Mapping[str, Follow] = {
    "batch_placed": places.place,
    "batch_moved": places.move,
    "batch_split": places.split,
    "batches_joined": places.join,
    "loss_recorded": headcounts.lose,
    "missing_recorded": headcounts.miss,
    "found_again": headcounts.find,
    "presumed_lost": headcounts.presume,
    "born_here": headcounts.bear,
    "animals_dispatched": headcounts.send,
    "animals_returned": headcounts.take_back,
    SETTLED: headcounts.attribute,
}
# The facts that these happenings are told by.
KINDS = frozenset(FOLLOWS) - {SETTLED} | {"parked_settled"}


def animals(told: Iterable[Happening], versions: Versions = OURS) -> Animals:
    """What follows from these happenings, which come in their order.

    `versions` are those that their batches go by.

    Every function checks before it changes anything, so what does not fit is left out whole.
    How many there are is not asked on the way: sums that close at the end may not have closed
    in between, by what was told.
    """
    told = tuple(told)
    known = frozenset(batch for one in told for batch in _begins(one))
    found = Animals(known=known, versions=versions)
    for one in told:
        if follow := FOLLOWS.get(one.kind):
            try:
                follow(found, one)
            except Misfit as misfit:
                found.misfits[one.uid] = misfit.reason
    for batch in list(found.begun):
        _close(found, batch)
    _miss_who_never_was(found)
    return found


def _miss_who_never_was(found: Animals) -> None:
    """What was told of a batch that never was does not fit."""
    for one in found.gone:
        if {one.begin.holder, one.end.holder} & (found.never - found.begun.keys()):
            found.misfits[one.by] = Misfit("not_found", "There is no such batch here.").reason


def _begins(one: Happening) -> Iterator[UUID]:
    if one.kind == "batch_split":
        yield from (as_uid(part["batch"]) for part in one.body["parts"])
    elif one.kind in ("batch_placed", "batches_joined", "found_again") and "batch" in one.body:
        yield as_uid(one.body["batch"])


def _close(found: Animals, batch: UUID) -> None:
    """With nobody alive or missing the batch is closed, when the last of them went.

    Its stay ends; kit and container are left as used.
    """
    kept = found.begun[batch]
    went = [one.at for one in gone_from(found.gone, batch)]
    if kept.passed_on is not None or found.is_somebody_left(batch) or not went:
        return
    at = max(went)
    found.begun[batch] = replace(kept, closed_at=at)
    for stay in found.stays_of(batch):
        if stay.ended_by is None:
            ended = max(at, stay.began.earliest)
            found.put(replace(stay, ended=When.exactly(ended)))
