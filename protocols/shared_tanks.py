"""Systems: containers that share water have one status, and whoever enters may end it.

Certified animals left certified conditions once they stand in water that nobody calls clean.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from protocols.judged import Judgement, SeriesState
from protocols.ruled import Reason
from protocols.said import said

CLEAN, UNTREATED = "clean", "untreated"


@dataclass(frozen=True, slots=True)
class StatusTold:
    """What a person, or the service by a rule, called a system from a moment on."""

    at: datetime
    status: str


def unclean_since(
    told: Iterable[StatusTold], began: datetime, ended: datetime | None
) -> datetime | None:
    """When, between these moments, the system was first not called clean; None if never.

    Before anything was told of it, it shared no water.
    """
    in_force: StatusTold | None = None
    for one in sorted(told, key=lambda one: one.at):
        if one.at > began:
            break
        in_force = one
    if in_force is not None and in_force.status != CLEAN:
        return began
    later = (one.at for one in told if one.at > began and one.status != CLEAN)
    return min((at for at in later if ended is None or at < ended), default=None)


def is_through(judgement: Judgement) -> bool:
    """Whether these animals have a complete series: others may share water with them."""
    series = judgement.series
    return series is not None and series.state is SeriesState.COMPLETE


def would_end_status(system: str, others: int) -> Reason:
    """Whoever is not through a series, or left clean water, ends the status of all in it."""
    text = said(
        "System {system} is clean, and others share its water ({others}). These animals are "
        "not through a series, or stood in water that nobody calls clean: they would end its "
        "status for all. They can only enter as new ones, in a container of their own.",
        system=system,
        others=others,
    )
    return Reason(
        "untreated_water",
        "untreated_water",
        text,
        numbers={"system": system, "batches": others},
        may_insist=("manager",),
        pointer="/container",
    )


def stood_in_unclean(system: str, since: str) -> Reason:
    """No certificate for this course: they would have to begin anew, as new animals."""
    text = said(
        "They stood in water of system {system}, which nobody called clean, from {since} on.",
        system=system,
        since=since,
    )
    return Reason("untreated_water", "untreated_water", text, numbers={"system": system})
