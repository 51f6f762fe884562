"""How many animals a batch has, and who is unaccounted, by the order in which it happened."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from protocols.judged import Unaccounted
from protocols.told import Happening
from protocols.uids import as_uid


@dataclass(slots=True)
class Headcount:
    """A running count. `emptied_by` is what took the last animal.

    `uncounted` are alive by the record alone: whoever counted last did not see them.
    """

    alive: int = 0
    uncounted: int = 0
    emptied_by: Happening | None = None
    _missing: dict[UUID, Unaccounted] = field(default_factory=dict)

    @property
    def unaccounted(self) -> tuple[Unaccounted, ...]:
        return tuple(one for one in self._missing.values() if one.count > 0)

    def placed(self, happening: Happening) -> Mapping[str, Any] | None:
        """The animals come in; numbers where the typed count is not what was to be placed.

        What is told of the same second may have come before, so they are added.
        """
        placed = sum(one["count"] for one in happening.body["from"])
        self.alive += placed
        return self._compare(happening, placed, 0)

    def came_in(self, others: "Headcount", count: int) -> None:
        """So many out of another batch, with those told of before they came."""
        self.alive += count + others.alive
        self.uncounted += others.uncounted
        self._missing |= others._missing

    def moved(self, happening: Happening, source: UUID) -> Mapping[str, Any] | None:
        """Who was not found stays unaccounted; numbers where the counts do not agree."""
        missing = not_found(happening)
        said = happening.body.get("missing", 0) if happening.differs else missing
        differs = self.counted(happening, said)
        self.take(happening, missing)
        if missing:
            self._miss(happening, source, missing)
        return differs

    def counted(self, happening: Happening, missing: int) -> Mapping[str, Any] | None:
        """Numbers where the last typed count, with the missing, is not the balance."""
        return self._compare(happening, self.alive, missing)

    def lost(self, happening: Happening) -> None:
        self.take(happening, happening.body["count"])

    def missed(self, happening: Happening) -> None:
        count = happening.body["count"]
        self.take(happening, count)
        # Whom the last count did not see is missed first.
        self.uncounted = max(self.uncounted - count, 0)
        self._miss(happening, as_uid(happening.body["container"]), count)

    def knows(self, missing: UUID) -> bool:
        return missing in self._missing

    def found(self, happening: Happening, batch: UUID) -> None:
        """Alive again here, or in a batch of its own if the report names one."""
        count = self._settle(happening)
        into = as_uid(happening.body.get("batch", batch))
        if happening.body["alive"] and into == batch:
            self.alive += count
        elif self.alive <= 0:
            self.emptied_by = happening

    def presumed(self, happening: Happening) -> None:
        if self._settle(happening) and self.alive == 0:
            self.emptied_by = happening

    def born(self, happening: Happening) -> None:
        self.alive += happening.body["count"]

    def take(self, happening: Happening, count: int) -> None:
        """So many fewer. Below nothing is a contradiction of the moment, shown as it is."""
        self.alive -= count
        if self.alive <= 0:
            self.emptied_by = happening

    def _miss(self, happening: Happening, container: UUID, count: int) -> None:
        self._missing[happening.uid] = Unaccounted(
            happening.uid, container, count, happening.when.earliest
        )

    def _compare(
        self, happening: Happening, balance: int, missing: int
    ) -> Mapping[str, Any] | None:
        if counts := happening.body.get("counts"):
            self.uncounted = max(balance - counts[-1] - missing, 0)
        return _differs(happening, balance, missing)

    def _settle(self, happening: Happening) -> int:
        of, count = as_uid(happening.body["of"]), int(happening.body["count"])
        if missing := self._missing.get(of):
            self._missing[of] = replace(missing, count=max(missing.count - count, 0))
        return count


def _differs(happening: Happening, balance: int, missing: int) -> Mapping[str, Any] | None:
    counts = happening.body.get("counts")
    if not counts or counts[-1] + missing == balance:
        return None
    return {"balance": balance, "counted": counts[-1], "missing": missing}


def not_found(move: Happening) -> int:
    """How many a move did not find.

    Of two accounts with different counts the lower one is alive, until it is decided; then as
    many as the one that stands has found. Whom only the other one has seen is not found.
    """
    missing: int = move.body.get("missing", 0)
    told = [one.body for one in move.accounts if one.body["counts"]]
    if len(told) < 2:
        return missing
    finals: list[int] = [one["counts"][-1] for one in told]
    known: int = max(one["counts"][-1] + one.get("missing", 0) for one in told)
    stands = move.body.get("counts") or finals
    alive = min(finals) if move.differs else stands[-1]
    return max(missing, known - alive)
