"""What a person makes of a trace: each batch in it is affected, not affected, or watched.

A trace says what could have passed, never that it did. It is closed once somebody has decided
on every batch in it.
"""

from collections.abc import Collection, Iterator, Mapping

from protocols.ruled import Reason

AFFECTED, NOT_AFFECTED, WATCH = "affected", "not_affected", "watch"
DECISIONS = (AFFECTED, NOT_AFFECTED, WATCH)


def may_decide(batch: str, found: Collection[str], why: str) -> Iterator[Reason]:
    """What stands against a decision on this batch by a trace that found these."""
    if batch not in found:
        text = "This trace did not find that batch."
        yield Reason("contradicts_record", "not_traced", text, pointer="/batch")
    if not why.strip():
        yield Reason("reason_missing", "reason_missing", "Say why.", pointer="/reason")


def undecided(found: Collection[str], decided: Mapping[str, str]) -> tuple[str, ...]:
    """The batches that nobody has decided on yet; a trace that found none is closed."""
    return tuple(one for one in found if one not in decided)


def needs_hold(decision: str, *, held: bool) -> bool:
    """An affected batch is put on hold, by which its certificates are suspended."""
    return decision == AFFECTED and not held
