"""Counts typed blind, and sums that must close: nobody is told the number they should find."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from protocols.clocks import utc_text
from protocols.ruled import Alternative, Reason, Rules
from protocols.said import said
from protocols.stays import SECOND


def count_reasons(
    counts: Sequence[int], missing: int, balance: int, *, near_limit: bool
) -> tuple[Reason, ...]:
    """What stands against a typed count.

    The last count, with those not found, is the balance: fine. Two equal counts in a row
    stand, whatever they say, and close to its limit a move never waits for a count: the
    difference is asked about afterwards. The answer never holds the balance.
    """
    if missing > balance:
        return (_too_few("There are not so many that could be missing.", entered=missing),)
    agrees = bool(counts) and counts[-1] + missing == balance
    stands = len(counts) >= 2 and counts[-1] == counts[-2]
    if agrees or stands or near_limit:
        return ()
    text = "Count again." if counts else "Count them."
    return (Reason("count_again", "count", text, pointer="/counts"),)


@dataclass(frozen=True, slots=True)
class AskedLoss:
    """So many animals of a batch are to be recorded as gone; `alive` is its balance."""

    batch: UUID
    label: str
    count: int
    alive: int
    closed: bool = False


def may_record_loss(lines: Iterable[AskedLoss]) -> tuple[Reason, ...]:
    """Every line that cannot be: all lines are recorded or none. Lines of one batch add up."""
    asked = list(lines)
    totals = Counter[UUID]()
    for one in asked:
        totals[one.batch] += one.count
    found = []
    for number, one in enumerate(asked):
        pointer = f"/lines/{number}/count"
        total = totals.pop(one.batch, None)
        if one.closed:
            text = said("{label} is closed: nobody of it is here.", label=one.label)
            found.append(Reason("batch_closed", "batch_closed", text, pointer=pointer))
        elif total is not None and total > one.alive:
            text = said(
                "{label} has {alive} alive; you entered {total}.",
                label=one.label,
                alive=one.alive,
                total=total,
            )
            found.append(_too_few(text, pointer, alive=one.alive, entered=total))
    return tuple(found)


def may_presume_lost(
    count: int, still_missing: int, missing_since: datetime, *, rules: Rules, at: datetime
) -> tuple[Reason, ...]:
    """A search is given its time before its end is presumed; both ends included."""
    found = []
    if count > still_missing:
        text = said(
            "{still_missing} are missing; you entered {count}.",
            still_missing=still_missing,
            count=count,
        )
        found.append(_too_few(text, "/count", missing=still_missing, entered=count))
    begins = missing_since + timedelta(seconds=rules.missing_close_after_s)
    if at < begins:
        found.append(
            Reason(
                "too_early",
                "missing_close_after_s",
                "Search on: it is too early to presume them lost.",
                numbers={"wait_s": (begins - at) // SECOND, "from": utc_text(begins)},
                instead=(Alternative("presume", begins=begins),),
            )
        )
    return tuple(found)


def _too_few(text: str, pointer: str | None = None, **numbers: int) -> Reason:
    return Reason("too_few_alive", "balance", text, numbers=numbers, pointer=pointer)
