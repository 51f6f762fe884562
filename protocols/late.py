"""What was told late: how late by when it was entered, and who said that it was so."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.accounts import NOTES, Notes, stamp
from protocols.ruled import Rules, RulesHistory
from protocols.told import Fact


@dataclass(frozen=True, slots=True)
class Confirmed:
    """Which second person said that it was so, and when."""

    by: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class LateEntry:
    """One telling, so long after it happened that it needed a reason.

    `facts` counts what was told at once of the same moment. `waits` says that it counts with
    doubt until a second person confirms it.
    """

    fact: Fact
    told_at: datetime
    gap: timedelta
    waits: bool
    facts: int = 1
    confirmed: tuple[Confirmed, ...] = ()
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class LateMonth:
    """What one person told late in a month of the site's calendar, in the order of telling."""

    person: UUID
    month: str  # 2027-01
    entries: tuple[LateEntry, ...]

    @property
    def longest(self) -> timedelta:
        return max(one.gap for one in self.entries)


def late_entries(
    told: Iterable[Fact], words: Iterable[Fact], *, rules: RulesHistory
) -> tuple[LateEntry, ...]:
    """Those of the facts that were told late, in the order of the record book.

    Counted to when it was entered: what a tablet sent later was not told later. The rules are
    those of the moment at which it was told. Facts of one request about one moment are one.
    """
    notes = Notes(one for one in words if one.kind in NOTES)
    found: dict[tuple[UUID, datetime], LateEntry] = {}
    for fact in sorted(told, key=lambda one: one.seq):
        key = (fact.group or fact.uid, fact.performed_at)
        if (first := found.get(key)) is not None:
            found[key] = _one_more(first)
        elif (late := _late(fact, notes, rules)) is not None:
            found[key] = late
    return tuple(found.values())


def by_person_and_month(entries: Iterable[LateEntry], zone: ZoneInfo) -> tuple[LateMonth, ...]:
    """The same entries under who did it and the month in which it was recorded."""
    found: dict[tuple[UUID, str], list[LateEntry]] = {}
    for one in entries:
        month = one.fact.recorded_at.astimezone(zone).strftime("%Y-%m")
        found.setdefault((one.fact.doer, month), []).append(one)
    return tuple(
        LateMonth(*key, tuple(those)) for key, those in sorted(found.items(), key=_key)
    )


def _key(pair: tuple[tuple[UUID, str], Sequence[LateEntry]]) -> tuple[str, int]:
    (person, month), _ = pair
    return month, person.int


def _late(fact: Fact, notes: Notes, rules: RulesHistory) -> LateEntry | None:
    told_at, limits = stamp(fact), rules.at(fact.recorded_at)
    gap = told_at - fact.performed_at
    if gap <= timedelta(seconds=limits.late_reason_after_s) and not fact.delivered:
        return None
    confirmed = tuple(
        Confirmed(one.doer, one.performed_at) for one in notes.confirmations(fact)
    )
    over = fact.delivered or gap > timedelta(
        seconds=rules.at(fact.performed_at).late_confirm_after_s
    )
    withdrawn = notes.is_withdrawn(fact)
    return LateEntry(
        fact=fact,
        told_at=told_at,
        gap=gap,
        waits=over and not confirmed and not withdrawn,
        confirmed=confirmed,
        withdrawn=withdrawn,
    )


def _one_more(entry: LateEntry) -> LateEntry:
    return replace(entry, facts=entry.facts + 1)


def least_late(rules: RulesHistory) -> timedelta:
    """By any rules there were, what is told sooner than this after it happened is not late."""
    every = (Rules(), *(known for _, known in rules.versions))
    return timedelta(seconds=min(one.late_reason_after_s for one in every))
