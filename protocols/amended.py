"""What a report says after the words about it, and how many a move left behind."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from protocols.accounts import NOTES, Notes, noted_account
from protocols.headcount import not_found
from protocols.order import happenings
from protocols.ruled import RulesHistory
from protocols.told import Fact, Happening

# Whenever it happened, and however late it was told: only what is said counts here.
EVER = datetime.max.replace(tzinfo=UTC, microsecond=0)
NEVER_LATE = timedelta.max


def in_force(report: Fact, words: Iterable[Fact]) -> Mapping[str, Any] | None:
    """The body of a report with its corrections read in; None once it is withdrawn."""
    notes = Notes(one for one in words if one.kind in NOTES)
    if notes.is_withdrawn(report):
        return None
    return noted_account(report, notes, NEVER_LATE).body


def left_behind(accounts: Iterable[Fact], words: Iterable[Fact]) -> int:
    """How many a move did not find, by all accounts of it: 0 where all were withdrawn."""
    return sum(not_found(one) for one in moves_told(accounts, words))


def moves_told(accounts: Iterable[Fact], words: Iterable[Fact]) -> list[Happening]:
    """The moves that these accounts tell of, with the words about them read in."""
    told = happenings([*accounts, *words], at=EVER, rules=RulesHistory())
    return [one for one in told if one.kind == "batch_moved"]
