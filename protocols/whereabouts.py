"""Who could have been where: stays as they are known, and what they had in common."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.told import When


@dataclass(frozen=True, slots=True)
class Standing:
    """A batch in a container with a kit, from when to when; `ended` is None while it is."""

    batch: UUID
    container: UUID
    kit: UUID | None
    began: When
    ended: When | None = None


def may_have_been(when: When, began: When, ended: When | None) -> bool:
    """Whether a stay may have gone on at `when`, read cautiously.

    Both ends count: at the very second of a move nobody knows which came first, and of an
    uncertain time every part is possible.
    """
    return began.earliest <= when.latest and (ended is None or ended.latest >= when.earliest)


def who_may_have_been(
    places: Iterable[UUID], when: When, standings: Iterable[Standing]
) -> tuple[Standing, ...]:
    """The stays in any of these containers, or with these kits, that `when` may fall into."""
    asked = frozenset(places)
    return tuple(
        one
        for one in standings
        if (one.container in asked or one.kit in asked)
        and may_have_been(when, one.began, one.ended)
    )


def common_time(one: Standing, two: Standing) -> tuple[datetime, datetime | None] | None:
    """From when to when both stood where they stood; None where they never did together.

    Stays are half-open: who leaves in the second in which the other comes was not there with
    it. The end is None while both are still there.
    """
    began = max(one.began.earliest, two.began.earliest)
    ends = [each.ended.latest for each in (one, two) if each.ended is not None]
    ended = min(ends, default=None)
    return None if ended is not None and ended <= began else (began, ended)
