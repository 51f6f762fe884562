"""What reports of incidents ask of people."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.ruled import Alternative, Reason
from protocols.said import said

# When an animal that jumped and lives is looked at again: once the shock is over, and once
# scraped gills or eyes would show.
LOOKS = (timedelta(minutes=35), timedelta(hours=5, minutes=5))
# A look so much before its time counts.
EARLY = timedelta(minutes=15)
SOUND = frozenset({"sound", "closed", "on", "ok", "true"})


def leaves_lid_off(kind: str, what: Mapping[str, Any]) -> bool:
    """Whether an incident leaves a container without a sound lid.

    `what` may say it under `lid`: `sound`, or what is wrong with it. Where it does not, a jump
    does: the animal came out somewhere.
    """
    said = what.get("lid")
    if said is not None:
        return str(said).strip().lower() not in SOUND
    return kind.startswith("jump") or "lid" in kind.split("_")


def jumped_alive(kind: str, what: Mapping[str, Any]) -> bool:
    """Whether an incident is about an animal that came out and lives: it is watched then.

    `what` may say `alive`; where it does not, it lives, or a loss would have been told.
    """
    said = what.get("alive")
    alive = said is None or str(said).strip().lower() not in ("false", "no", "dead")
    return kind.startswith("jump") and alive


def looks_due(at: datetime, looked: Iterable[datetime]) -> Iterator[tuple[int, datetime]]:
    """Which looks at an animal that jumped at `at` are still to be made, and when; from 1."""
    last = max((one for one in looked if one >= at), default=None)
    for number, after in enumerate(LOOKS, start=1):
        if last is None or last < at + after - EARLY:
            yield number, at + after


@dataclass(frozen=True, slots=True)
class WithinReach:
    """A container with animals from which it may have come; was it counted since?"""

    container: UUID
    label: str
    counted: bool


def may_have_come_from(near: Iterable[WithinReach]) -> Iterator[Reason]:
    """Where nobody is sure which container it came from, every one within reach is counted."""
    uncounted = sorted((one for one in near if not one.counted), key=lambda one: one.label)
    if uncounted:
        labels = ", ".join(one.label for one in uncounted)
        yield Reason(
            code="not_counted",
            rule="container_unsure",
            text=said(
                "It may have come from any of them: count {labels} first.", labels=labels
            ),
            numbers={"containers": len(uncounted)},
            instead=tuple(Alternative("count", one.container, one.label) for one in uncounted),
            cleared_by="counted",
            who=("keeper", "manager"),
            pointer="/container_unsure",
        )
