"""Moves that somebody began to tell, for whoever opens the page of one."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import BegunMove, Person


@dataclass(frozen=True, slots=True)
class Begun:
    """What was said so far of the move that ends a stay; people by uid and name, in order."""

    stay: UUID
    step: str
    values: dict[str, Any]
    people: tuple[tuple[UUID, str], ...]
    began_at: datetime
    saved_at: datetime
    version: int

    @property
    def began(self) -> str:
        return self.people[0][1]

    @property
    def last(self) -> str:
        return self.people[-1][1]

    def others(self, person: UUID) -> tuple[UUID, ...]:
        """Who had a hand in it beside this person."""
        return tuple(uid for uid, _ in self.people if uid != person)


def begun_move(stay: UUID) -> Begun | None:
    """The move that was begun out of this stay. Two queries, one where there is none."""
    row = BegunMove.objects.filter(stay=stay).first()
    return None if row is None else begun_of(row)


def begun_of(row: BegunMove) -> Begun:
    """A row with the names of its people. One query."""
    names = dict(Person.objects.filter(uid__in=row.people).values_list("uid", "name"))
    return Begun(
        stay=row.stay,
        step=row.step,
        values=dict(row.values),
        people=tuple((UUID(one), names.get(UUID(one), "somebody")) for one in row.people),
        began_at=row.began_at,
        saved_at=row.saved_at,
        version=row.version,
    )
