"""Which water reached whom: draws from makes, and the stays of batches in containers."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True, slots=True)
class DrawTold:
    """Water of a make that went into a container at a moment."""

    fact: UUID
    make: UUID
    container: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class StayTold:
    """A batch in a container, at the widest that is told of it."""

    batch: UUID
    container: UUID
    began: datetime
    ended: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reached:
    """Water that was with a batch; `by_system`: it came through the water of a system."""

    draw: DrawTold
    stay: StayTold
    by_system: bool = False


def reached(
    draws: Iterable[DrawTold],
    stays: Sequence[StayTold],
    *,
    gone: Mapping[UUID, Sequence[datetime]],
    systems: Mapping[UUID, UUID],
) -> Iterator[Reached]:
    """Every stay that water reached: it was drawn during the stay, or before and was not gone.

    `gone` are the moments at which a container was emptied, disinfected or seen dry, `systems`
    says which containers share water; that of a system is never gone.
    """
    for draw in draws:
        for stay in stays:
            if stay.ended is not None and draw.at >= stay.ended:
                continue
            if stay.container == draw.container:
                if draw.at >= stay.began or not _gone(draw, stay, gone):
                    yield Reached(draw, stay)
            elif systems.get(stay.container, draw.fact) == systems.get(draw.container):
                yield Reached(draw, stay, by_system=True)


def _gone(draw: DrawTold, stay: StayTold, gone: Mapping[UUID, Sequence[datetime]]) -> bool:
    return any(draw.at < one <= stay.began for one in gone.get(draw.container, ()))
