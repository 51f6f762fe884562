"""How long a system has been without fish, and for which organisms that is long enough."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from protocols.cover import GAP_MOST
from protocols.judged import Reading
from protocols.library.values import Fallow, FallowStep
from protocols.said import said

DAY = timedelta(days=1)


class FallowState(StrEnum):
    """Where one organism stands."""

    FISH_IN_IT = "fish_in_it"
    NO_FIGURE = "no_figure"
    RUNNING = "running"
    LONG_ENOUGH = "long_enough"


@dataclass(frozen=True, slots=True)
class Added:
    """Something that was put in, animal or not, or came in from elsewhere, and when."""

    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class Against:
    """One organism: how many days are needed and when they are over, or why nobody knows."""

    organism: str
    state: FallowState
    days: int | None = None
    ends_at: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """A system without fish: since when, the coldest it was, and every organism."""

    since: datetime | None
    last: Added | None
    coldest_c: Decimal | None
    unknown: timedelta
    against: tuple[Against, ...]


def left_alone(
    rule: Fallow,
    *,
    begins: datetime | None,
    added: Iterable[Added],
    temperatures: Sequence[Sequence[Reading]],
    at: datetime,
    poor_oxygen: bool = False,
) -> LeftAlone:
    """The clock of a system at a moment.

    `begins` is when the last fish left it, None while some are in it. Anything of `added`
    after that begins it anew. `temperatures` are the readings of each of its containers by
    time; the coldest one anywhere since then decides, as the slowest cyst does. Hours that
    nobody measured are unknown, and then only the figure for an unknown temperature holds.
    `poor_oxygen` says that sand, rock or biofilm in it may be poor in oxygen.
    """
    if begins is None:
        against = tuple(
            Against(one, FallowState.FISH_IN_IT, why="There are fish in it.")
            for one in _organisms(rule)
        )
        return LeftAlone(None, None, None, timedelta(0), against)
    last = max(
        (one for one in added if begins < one.at <= at), key=lambda one: one.at, default=None
    )
    since = last.at if last else begins
    during = [[one for one in found if since <= one.at <= at] for found in temperatures]
    coldest = min((one.value for found in during for one in found), default=None)
    # Water is shared: whichever container was read, it was read for all of them.
    unknown = _unknown(sorted({one.at for found in during for one in found}), since, at)
    against = tuple(
        _against(
            rule, name, since, at, coldest, poor_oxygen=poor_oxygen, gaps=unknown > GAP_MOST
        )
        for name in _organisms(rule)
    )
    return LeftAlone(since, last, coldest, unknown, against)


def _organisms(rule: Fallow) -> list[str]:
    return list(dict.fromkeys(one.organism for one in rule.steps))


def _unknown(moments: Sequence[datetime], since: datetime, at: datetime) -> timedelta:
    """Time farther than one gap from the reading before it."""
    ends = [since, *moments, at]
    gaps = (two - one for one, two in pairwise(ends))
    return sum((gap for gap in gaps if gap > GAP_MOST), timedelta(0))


def _against(
    rule: Fallow,
    organism: str,
    since: datetime,
    at: datetime,
    coldest: Decimal | None,
    *,
    poor_oxygen: bool,
    gaps: bool,
) -> Against:
    steps = [one for one in rule.steps if one.organism == organism]
    if all(one.days is None for one in steps):
        return _none(organism, "No time without fish ends it.")
    if poor_oxygen:
        return _none(
            organism, "Sand or rock poor in oxygen: cysts wait there, no figure is safe."
        )
    if coldest is not None and coldest <= rule.never_up_to_c:
        return _none(
            organism,
            said(
                "It was {coldest} C: up to {never_up_to_c} no figure is safe.",
                coldest=coldest,
                never_up_to_c=rule.never_up_to_c,
            ),
        )
    fitting = [one for one in steps if _holds(one, rule, coldest, gaps=gaps)]
    days = min((one.days for one in fitting if one.days), default=None)
    if days is None:
        return _none(organism, "No figure is known for water as cool or as seldom measured.")
    ends = since + days * DAY
    state = FallowState.LONG_ENOUGH if ends <= at else FallowState.RUNNING
    return Against(organism, state, days, ends)


def _holds(one: FallowStep, rule: Fallow, coldest: Decimal | None, *, gaps: bool) -> bool:
    """Whether a figure holds for water that was never colder, as far as it was measured.

    The figure for the widest range is that for a temperature nobody knows.
    """
    if coldest is None or gaps:
        return one.above_c <= rule.never_up_to_c
    return coldest > one.above_c


def _none(organism: str, why: str) -> Against:
    return Against(organism, FallowState.NO_FIGURE, why=why)
