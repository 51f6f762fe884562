"""What is kept of animals: batches, stays, who is gone, missing or sent, and every going."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.ruled import Reason
from protocols.told import Happening, When
from protocols.versions import OURS, Versions

# Who is alive or may be found is still somewhere in the house.
HERE = ("alive", "unaccounted")


class Misfit(Exception):
    """The report does not fit what was told of the time before it."""

    def __init__(self, code: str, text: str, **numbers: Any) -> None:
        self.reason = Reason(code=code, rule=code, text=text, numbers=numbers)
        super().__init__(text)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where animals are: a holder (a line, a batch) and a place of it."""

    holder: UUID
    place: str


@dataclass(frozen=True, slots=True)
class Gone:
    """So many from one spot to another, by which happening and when."""

    by: UUID
    begin: Spot
    end: Spot
    count: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Begun:
    """A batch: what began it, out of which others it came, by what its animals went on."""

    uid: UUID
    by: UUID
    protocol: str
    placed_at: datetime
    parents: tuple[UUID, ...] = ()
    passed_on: UUID | None = None
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Stood:
    """A stay. One into which animals were put with others is there for no time."""

    uid: UUID
    batch: UUID
    container: UUID
    kit: UUID | None
    began: When
    began_by: UUID
    ended: When | None = None
    ended_by: UUID | None = None


@dataclass(frozen=True, slots=True)
class Came:
    """So many of a batch came out of a line."""

    by: UUID
    batch: UUID
    line: UUID
    count: int


@dataclass(frozen=True, slots=True)
class Missed:
    """Animals nobody found, by which report, and how many of them are missing still."""

    by: UUID
    batch: UUID
    container: UUID
    count: int
    open: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Lost:
    """Animals gone for good. `of` is the report that missed them, if one did."""

    by: UUID
    batch: UUID
    fate: str
    count: int
    at: datetime
    of: UUID | None = None
    seen_at: datetime | None = None
    body: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sent:
    """Animals that were handed over, and how many of them came back."""

    uid: UUID
    by: UUID
    batch: UUID
    count: int
    place: str
    at: datetime
    body: Mapping[str, Any]
    returned: int = 0
    seq: int = 0


@dataclass(slots=True)
class Animals:
    """Everything that follows, as far as the pass has come.

    `misfits` are the happenings that do not fit, each with the reason; they changed nothing.
    `known` are the batches that anything told begins, now or later; `void` the joins made by
    rule that were none, since those to be joined had left, and `never` their batches.
    """

    begun: dict[UUID, Begun] = field(default_factory=dict)
    stood: dict[UUID, Stood] = field(default_factory=dict)
    came: list[Came] = field(default_factory=list)
    missed: dict[UUID, Missed] = field(default_factory=dict)
    lost: dict[UUID, Lost] = field(default_factory=dict)
    sent: dict[UUID, Sent] = field(default_factory=dict)
    gone: list[Gone] = field(default_factory=list)
    misfits: dict[UUID, Reason] = field(default_factory=dict)
    known: frozenset[UUID] = frozenset()
    void: set[UUID] = field(default_factory=set)
    versions: Versions = OURS
    never: set[UUID] = field(default_factory=set)
    _here: dict[Spot, int] = field(default_factory=lambda: defaultdict(int))

    def batch(self, uid: UUID) -> Begun:
        """The batch, or a Misfit: nobody told of it before."""
        if uid not in self.begun:
            raise Misfit("not_found", "There is no such batch here.")
        return self.begun[uid]

    def somewhere(self, uid: UUID) -> UUID:
        """A batch that may begin only later, by the times that were told; else a Misfit."""
        if uid not in self.known:
            raise Misfit("not_found", "There is no such batch here.")
        return uid

    def n(self, batch: UUID, place: str) -> int:
        """How many are there, by what was told of the time up to here; below nothing where
        that contradicts itself."""
        return self._here[Spot(batch, place)]

    def go(self, one: Happening, begin: Spot, end: Spot, count: int) -> None:
        """Move animals. None is no going, and fewer than none is one back."""
        if count < 0:
            begin, end, count = end, begin, -count
        if count:
            self.gone.append(Gone(one.uid, begin, end, count, one.when.earliest))
            self._here[begin] -= count
            self._here[end] += count

    def stays_of(self, batch: UUID) -> list[Stood]:
        return [one for one in self.stood.values() if one.batch == batch]

    def open_stay(self, batch: UUID) -> Stood | None:
        """The stay the batch is in, by what was told of the time up to here."""
        return next((one for one in self.stays_of(batch) if one.ended is None), None)

    def is_somebody_left(self, batch: UUID) -> bool:
        return any(self.n(batch, place) > 0 for place in HERE)

    def put(self, *stays: Stood) -> None:
        self.stood.update((stay.uid, stay) for stay in stays)

    def sums(self) -> Mapping[tuple[Spot, Spot], int]:
        """How many went from each spot to each other, less those who came back."""
        found: dict[tuple[Spot, Spot], int] = defaultdict(int)
        for one in self.gone:
            pair, count = one_way(one.begin, one.end, one.count)
            found[pair] += count
        return {pair: count for pair, count in found.items() if count}


def one_way(begin: Spot, end: Spot, count: int) -> tuple[tuple[Spot, Spot], int]:
    """A pair of spots, always the same way round, and how many went that way."""
    if (end.holder, end.place) < (begin.holder, begin.place):
        return (end, begin), -count
    return (begin, end), count


def gone_from(gone: Iterable[Gone], batch: UUID) -> Iterator[Gone]:
    """The goings by which animals of a batch left those that are in the house."""
    return (one for one in gone if one.begin.holder == batch and one.begin.place in HERE)
