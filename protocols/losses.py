"""What may be said of animals lost, missed, found, born, returned, and of signs seen on them.

How many can be lost, missed or presumed lost stands in `protocols/typed_counts.py`, and what
may leave in `protocols/leaving.py`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.ruled import Reason
from protocols.said import said

DECIDERS = ("manager", "veterinarian")
# States of a certificate in which it says something of animals that leave with it.
STANDING = frozenset({"valid", "partly"})


@dataclass(frozen=True, slots=True)
class LossTimes:
    """When lost animals were found, and when they were last seen alive."""

    found_at: datetime
    last_seen_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Living:
    """The animals of a batch as they are counted now; the label is that of its container."""

    label: str
    alive: int
    closed: bool = False


def may_be_found_then(losses: Iterable[LossTimes], *, now: datetime) -> Iterator[Reason]:
    """Found by now, and seen alive before: the death lies between the two."""
    for n, one in enumerate(losses):
        if one.found_at > now:
            text = "They cannot be found later than now."
            yield Reason("in_future", "in_future", text, pointer=f"/lines/{n}/found_at")
        if one.last_seen_at is not None and one.last_seen_at > one.found_at:
            yield Reason(
                "contradicts_record",
                "seen_before_found",
                "They were last seen alive before they were found.",
                pointer=f"/lines/{n}/last_seen_at",
            )


def may_find(still_missing: int, presumed: int, count: int) -> Iterator[Reason]:
    """Whether so many were missed: they may still be, or be presumed lost since."""
    there = still_missing + presumed
    if count > there:
        yield Reason(
            "contradicts_record",
            "missing_within_count",
            said("{there} were missed there; you entered {count}.", there=there, count=count),
            numbers={"missing": still_missing, "presumed": presumed, "entered": count},
            pointer="/count",
        )


def may_show_sign(living: Living, affected: int) -> Iterator[Reason]:
    """A sign is seen on animals that live, and not on more than there are."""
    yield from may_add(living)
    if not living.closed and affected > living.alive:
        yield Reason(
            "too_few_alive",
            "balance",
            said(
                "{living} has {alive} alive; you entered {affected}.",
                living=living.label,
                alive=living.alive,
                affected=affected,
            ),
            numbers={"alive": living.alive, "entered": affected},
            pointer="/affected",
        )


def may_add(living: Living) -> Iterator[Reason]:
    """Animals are born, and counted, where others live."""
    if living.closed:
        text = said("Nobody of the batch is left in {living}.", living=living.label)
        yield Reason("batch_closed", "batch_closed", text)


def may_touch(begin: UUID, end: UUID) -> Iterator[Reason]:
    """A contact is between two."""
    if begin == end:
        text = "A contact is between two different things."
        yield Reason("unreadable", "unreadable", text, pointer="/to")


def may_return(dispatched: int, returned: int, count: int) -> Iterator[Reason]:
    """Whether so many can come back of those that left."""
    if returned + count > dispatched:
        yield Reason(
            "contradicts_record",
            "returned_within_dispatched",
            said(
                "{dispatched} left and {returned} came back; you entered {count}.",
                dispatched=dispatched,
                returned=returned,
                count=count,
            ),
            numbers={"dispatched": dispatched, "returned": returned, "entered": count},
            pointer="/count",
        )


def certificate_covers(state: str, left: int, count: int) -> Iterator[Reason]:
    """Whether a certificate that is to go with `count` animals still covers so many."""
    covered = left if state in STANDING else 0
    if count > covered:
        yield Reason(
            "not_certifiable",
            "certificate_covers",
            said(
                "The certificate covers {covered} more; you entered {count}.",
                covered=covered,
                count=count,
            ),
            numbers={"covered": covered, "entered": count},
            pointer="/certificate",
        )


def is_settled(parked: int) -> Iterator[Reason]:
    """A report that does not fit the record is held against the batches it names."""
    if parked:
        yield Reason(
            "held",
            "parked",
            "A report about this batch does not fit the record and is not settled.",
            numbers={"parked": parked},
            cleared_by="parked_settled",
            who=DECIDERS,
        )


def has_reason(reason: str | None) -> Iterator[Reason]:
    """What gives animals up, or lets them go, is said with a reason."""
    if not (reason or "").strip():
        yield Reason("reason_missing", "reason_missing", "Say why.", pointer="/reason")
