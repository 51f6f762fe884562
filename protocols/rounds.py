"""Rounds: what one says of each container, and days of an observation that nobody looked at."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.hours import DAY
from protocols.ruled import Reason


@dataclass(frozen=True, slots=True)
class Walked:
    """What a round says: who was looked at, who ate, who did not, where some were not seen."""

    looked_at: tuple[UUID, ...]
    ate: tuple[UUID, ...] = ()
    not_eating: tuple[UUID, ...] = ()
    not_all_seen: tuple[UUID, ...] = ()

    def saw_all(self, container: UUID) -> bool:
        """Whether everybody in a container was seen alive."""
        return container in self.looked_at and container not in self.not_all_seen


@dataclass(frozen=True, slots=True)
class LastSeen:
    """When all animals of a batch were last seen alive; `how` is round, count or placed."""

    at: datetime
    how: str


def may_be_round(one: Walked) -> Iterator[Reason]:
    """Only what was looked at can have eaten, and nobody both ate and did not."""
    known = set(one.looked_at)
    said = (
        ("ate", one.ate),
        ("not_eating", one.not_eating),
        ("not_all_seen", one.not_all_seen),
    )
    for name, uids in said:
        if strange := set(uids) - known:
            yield Reason(
                "contradicts_record",
                "not_looked_at",
                "That can only be said of containers that were looked at.",
                numbers={"containers": sorted(str(uid) for uid in strange)},
                pointer=f"/{name}",
            )
    if both := set(one.ate) & set(one.not_eating):
        yield Reason(
            "contradicts_record",
            "ate_and_not",
            "They either ate or did not.",
            numbers={"containers": sorted(str(uid) for uid in both)},
            pointer="/not_eating",
        )


def days_without(
    started: datetime, until: datetime, seen: Iterable[datetime]
) -> tuple[int, ...]:
    """The days of an observation, counted from 1, in which nobody made a round.

    A day is 24 h from the start (UTC), so that clock changes move none; the last one counts
    only once it is over. A round exactly at the turn belongs to the day that begins.
    """
    whole = max((until - started) // DAY, 0)
    looked = {(one - started) // DAY for one in seen if one >= started}
    return tuple(day + 1 for day in range(whole) if day not in looked)


def unwatched(days: Collection[int]) -> Iterator[Reason]:
    """A warning beside a certificate: the observation was not looked at every day."""
    if days:
        named = ", ".join(str(day) for day in days)
        word = "day" if len(days) == 1 else "days"
        yield Reason(
            "round_missing",
            "round_missing",
            f"Nobody made a round on {word} {named} of the observation.",
            blocks=False,
            numbers={"days": list(days)},
        )


def newest(moments: Iterable[LastSeen]) -> LastSeen | None:
    """The last of them; a round says more than a count at the same second."""
    return max(moments, key=lambda one: (one.at, one.how == "round"), default=None)
