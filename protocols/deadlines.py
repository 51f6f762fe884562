"""Deadlines that are not limits of stays: claims, reviews, searches, lids."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from protocols.hours import DAY, wall
from protocols.values import Rules

CLAIM_REMINDER = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class ClaimDeadline:
    """Until when a supplier takes a claim of one kind (`doa`, `short`), evidence with it."""

    kind: str
    at: datetime

    @property
    def remind_at(self) -> datetime:
        """When to remind whoever recorded dead or missing animals and has prepared no claim."""
        return self.at - CLAIM_REMINDER

    def late_by(self, moment: datetime) -> timedelta:
        """How far outside the window a piece of evidence lies; zero up to its end."""
        return max(moment - self.at, timedelta(0))


def claim_deadlines(
    delivered_at: datetime, terms: Mapping[str, int]
) -> tuple[ClaimDeadline, ...]:
    """Deadlines from a supplier's claim terms (kind: seconds), the first to lapse first.

    Windows run from the delivery, not from the unpacking: that is what suppliers go by.
    """
    deadlines = [
        ClaimDeadline(kind, delivered_at + timedelta(seconds=seconds))
        for kind, seconds in terms.items()
    ]
    return tuple(sorted(deadlines, key=lambda one: (one.at, one.kind)))


def review_by(happened_at: datetime, rules: Rules) -> datetime:
    """Until when a manager reviews what was done in an emergency."""
    return happened_at + timedelta(seconds=rules.review_within_s)


def presumable_from(missing_at: datetime, rules: Rules) -> datetime:
    """The first moment at which unaccounted animals may be closed as presumed lost."""
    return missing_at + timedelta(seconds=rules.missing_close_after_s)


def may_presume_lost(missing_at: datetime, rules: Rules, *, at: datetime) -> bool:
    """Whether animals missing since `missing_at` have been looked for long enough at `at`."""
    return at >= presumable_from(missing_at, rules)


def lights_off_after(moment: datetime, light_off: time, zone: ZoneInfo) -> datetime:
    """The next time the room's light goes off, later than `moment` (UTC)."""
    day = moment.astimezone(zone).date()
    minutes = light_off.hour * 60 + light_off.minute
    coming = (wall(day + n * DAY, minutes, zone) for n in range(3))
    return min(one for one in coming if one > moment)
