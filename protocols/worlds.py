"""What is true now for somebody who wants to move or place animals, and what they ask for."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.clocks import local_text
from protocols.filled import Filling, MakeKnown
from protocols.judged import Readiness
from protocols.matching import MatchRule, Water
from protocols.ruled import Protocol, Rules


@dataclass(frozen=True, slots=True)
class Occupant:
    """Who stands in a container: a batch by its code, how many, since when."""

    batch: UUID
    code: str
    alive: int
    since: datetime
    earliest_end: datetime | None = None
    limit: datetime | None = None


@dataclass(frozen=True, slots=True)
class Equipment:
    """A container or a kit as it is now. `where` names the container in which a kit works."""

    uid: UUID
    label: str
    readiness: Readiness
    occupant: Occupant | None = None
    where: str | None = None
    search_open: bool = False  # animals are still being looked for in it


@dataclass(frozen=True, slots=True)
class World:
    """What is true now for somebody who wants to move or place animals.

    `source` is the container they are in, None while they are in their bags; `balance` the
    number there must be. `ready_kits` and `ready_containers` are what could be used instead.
    """

    at: datetime
    zone: ZoneInfo
    rules: Rules
    protocol: Protocol
    target: Equipment
    kit: Equipment | None
    target_water: Water
    balance: int
    source: Equipment | None = None
    source_water: Water | None = None
    stay: UUID | None = None
    limit: datetime | None = None
    closed: bool = False
    ready_kits: tuple[Equipment, ...] = ()
    ready_containers: tuple[Equipment, ...] = ()
    fillings: tuple[Filling, ...] = ()
    makes: Mapping[UUID, MakeKnown] = field(default_factory=dict)

    @property
    def match_rule(self) -> MatchRule:
        return MatchRule.of(self.rules, self.protocol)

    @property
    def near_limit(self) -> bool:
        """So close to the limit that a count must not delay the move; the end included."""
        if self.limit is None:
            return False
        return self.limit - self.at <= timedelta(seconds=self.rules.near_limit_s)

    def text(self, moment: datetime) -> str:
        return local_text(moment, self.zone)


@dataclass(frozen=True, slots=True)
class AskedMove:
    """A move as asked: the stay it ends, every count typed so far, and those not found."""

    ended_stay: UUID
    counts: tuple[int, ...]
    missing: int = 0


@dataclass(frozen=True, slots=True)
class AskedLine:
    """So many of a packing list's line; `available` are received, alive and not yet placed."""

    line: UUID
    label: str
    count: int
    available: int


@dataclass(frozen=True, slots=True)
class AskedPlacement:
    lines: tuple[AskedLine, ...]
    counts: tuple[int, ...] = field(default=())
