"""May a text be erased? Not under a legal hold; before its time only on purpose.

A legal hold is what a court or an authority wants kept: of some batches, or of the whole site.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.said import said
from protocols.values import Reason


@dataclass(frozen=True, slots=True)
class LegalHold:
    """Since when it stands, and over which batches; none: over everything of the site."""

    uid: UUID
    since: datetime
    batches: frozenset[UUID] = frozenset()

    def covers(self, batches: Collection[UUID]) -> bool:
        """What concerns one of its batches; over the whole site everything."""
        return not self.batches or not self.batches.isdisjoint(batches)


@dataclass(frozen=True, slots=True)
class Concerned:
    """A report whose texts are to be erased: whom it concerns, and how long it is kept.

    `kept_until` is None while one of the batches is still here.
    """

    batches: frozenset[UUID]
    kept_until: datetime | None

    def is_over(self, at: datetime) -> bool:
        return self.kept_until is not None and self.kept_until <= at


def may_erase(
    reports: Iterable[Concerned], holds: Collection[LegalHold], at: datetime
) -> Iterator[Reason]:
    """What stands against erasing the texts of these reports at `at`."""
    found = list(reports)
    if any(hold.covers(one.batches) for one in found for hold in holds):
        yield under_hold()
    early = [one for one in found if not one.is_over(at)]
    if early:
        yield Reason(
            code="too_early",
            rule="kept_until",
            text=said("{count} of these are still to be kept.", count=len(early)),
            numbers={"count": len(early)},
            may_insist=("manager",),
        )


def under_hold() -> Reason:
    """The refusal of whatever a legal hold covers; nobody sets it aside."""
    text = "A legal hold stands over this. Lift the hold first."
    return Reason("legal_hold", "legal_hold", text)


def years_after(moment: datetime, years: int) -> datetime:
    """The same day so many years later; of 29 February the first of March."""
    try:
        return moment.replace(year=moment.year + years)
    except ValueError:
        return moment.replace(year=moment.year + years, month=3, day=1)
