"""Stays: how long one may be, and whether it ended in time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from protocols.cover import reached_above
from protocols.judged import Reading, Stay, Verdict
from protocols.ruled import Protocol
from protocols.told import When

# How long staff have after the reading that shows that the water was warm for too long.
WARM_NOTICE = timedelta(hours=6)
SECOND = timedelta(seconds=1)
NONE = timedelta(0)


@dataclass(slots=True)
class OpenStay:
    """The stay that a batch is in. `limited` is false once nothing limits it."""

    uid: UUID
    batch: UUID
    container: UUID
    kit: UUID | None
    began: When
    limited: bool = True
    taken_over: When | None = None  # since when it is this batch's, if it was another's before

    def longest(self, protocol: Protocol) -> datetime:
        """The limit without warm water: the cautious end of the beginning, plus the rule."""
        return self.began.earliest + protocol.stay_limit

    def limit(
        self, protocol: Protocol, readings: Sequence[Reading], until: datetime
    ) -> datetime | None:
        """The moment after which the stay is too long, by what was read up to `until`."""
        if not self.limited:
            return None
        longest = self.longest(protocol)
        if not readings:
            return longest
        span = When(self.began.earliest, max(until, self.began.earliest))
        warm = reached_above(readings, span, protocol.warm_c, protocol.warm_after)
        if warm is None:
            return longest
        by_rule = self.began.earliest + protocol.warm_limit
        return min(longest, max(by_rule, warm + WARM_NOTICE))

    def frozen(
        self, limit: datetime | None, ended: When | None, by: UUID | None, outcome: "Outcome"
    ) -> Stay:
        return Stay(
            uid=self.uid,
            container=self.container,
            kit=self.kit,
            began=self.began,
            limit=limit,
            ended=ended,
            ended_by=by,
            verdict=outcome.verdict,
            over=outcome.over,
            batch=self.batch,
            taken_over=self.taken_over,
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """A verdict, with how far the cautious end lies over the limit."""

    verdict: Verdict | None = None
    over: timedelta = NONE

    @property
    def is_fine(self) -> bool:
        return self.verdict in (None, Verdict.ON_TIME, Verdict.WITHIN_TOLERANCE)


def outcome(began: When, ended: When, limit: datetime, tolerance: timedelta) -> Outcome:
    """Whether a stay ended within its limit; exactly at the limit is on time.

    Over is said only where it is certain: the latest beginning against the earliest end.
    """
    over = ended.latest - limit
    if over <= NONE:
        return Outcome(Verdict.ON_TIME)
    if over <= tolerance:
        return Outcome(Verdict.WITHIN_TOLERANCE, over)
    slack = began.latest - began.earliest + tolerance
    certain = ended.earliest - limit > slack
    return Outcome(Verdict.OVER if certain else Verdict.UNPROVEN, over)
