"""What was told: facts as the ledger keeps them, and happenings, which are facts folded."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID


class Standing(StrEnum):
    """How a report stands: a question, something done, or something that had to be done."""

    ASKED = "asked"
    HAPPENED = "happened"
    EMERGENCY = "emergency"


@dataclass(frozen=True, slots=True)
class When:
    """A moment known to lie between two instants, both included; UTC, whole seconds."""

    earliest: datetime
    latest: datetime

    def __post_init__(self) -> None:
        if self.earliest.utcoffset() != timedelta(0) or self.latest.utcoffset() != timedelta(0):
            raise ValueError("both ends of a When must be UTC")
        if self.earliest > self.latest:
            raise ValueError("a When must not end before it begins")

    @classmethod
    def exactly(cls, moment: datetime) -> "When":
        return cls(moment, moment)

    @property
    def is_exact(self) -> bool:
        return self.earliest == self.latest

    def hull(self, other: "When") -> "When":
        """The shortest span that holds both: how a second account widens a time."""
        return When(min(self.earliest, other.earliest), max(self.latest, other.latest))


@dataclass(frozen=True, slots=True)
class Insist:
    """A rule that somebody with the right to do so set aside beforehand, and why."""

    rule: str
    reason: str


@dataclass(frozen=True, slots=True)
class Fact:
    """What somebody (or a probe) says happened, as it stands in the ledger."""

    uid: UUID
    seq: int
    kind: str
    performed_at: datetime
    recorded_at: datetime
    doer: UUID
    messenger: UUID
    body: Mapping[str, Any]
    standing: Standing = Standing.HAPPENED
    insist: tuple[Insist, ...] = ()
    reason: str | None = None
    about: UUID | None = None
    group: UUID | None = None
    device: UUID | None = None
    entry_no: int | None = None
    raw_at: datetime | None = None
    clock_offset_ms: int | None = None
    delivered: bool = False  # by another, since its doer could not sign in

    @property
    def beside(self) -> frozenset[UUID]:
        """Who did it side by side with the doer."""
        return frozenset(UUID(str(one)) for one in self.body.get("with", ()))

    @property
    def people(self) -> frozenset[UUID]:
        """Who had to do with it: doer, messenger, and who did it side by side with the doer."""
        return self.beside | {self.doer, self.messenger}


@dataclass(frozen=True, slots=True)
class Happening:
    """Facts that tell of one thing, folded: the accounts kept, one time, one body.

    `when` is what is known now; `told` is the same before corrections and without the doubt
    of a late entry. `unclear` names fields with a correction that no second person confirmed;
    `decided_by` is the decision by which one of differing accounts stands.
    """

    uid: UUID
    kind: str
    when: When
    body: Mapping[str, Any]
    accounts: tuple[Fact, ...]
    confirmed_by: tuple[UUID, ...] = ()
    late_unconfirmed: bool = False
    differs: bool = False
    told: When | None = None
    confirmed_at: datetime | None = None
    unclear: tuple[str, ...] = ()
    decided_by: UUID | None = None

    @property
    def first(self) -> Fact:
        return self.accounts[0]

    @property
    def is_emergency(self) -> bool:
        return any(one.standing is Standing.EMERGENCY for one in self.accounts)


@dataclass(frozen=True, slots=True)
class Link:
    """A batch came out of another one by a split or a join, told in the happening `by`."""

    parent: UUID
    child: UUID
    by: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class Lineage:
    """Where batches came from: the links by child."""

    parents: Mapping[UUID, tuple[Link, ...]]

    def of(self, batch: UUID) -> tuple[Link, ...]:
        return self.parents.get(batch, ())


@dataclass(frozen=True, slots=True)
class History:
    """What happened to one batch and, before it, to those it came from; in order."""

    batch: UUID
    happenings: tuple[Happening, ...]
    family: frozenset[UUID]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where and when a stay began, and from which container the animals came."""

    stay: UUID
    batch: UUID
    container: UUID
    kit: UUID | None
    when: When
    by: UUID
    source: UUID | None = None
