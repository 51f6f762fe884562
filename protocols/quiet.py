"""Whom a site calls for what, and when it lets them sleep. Pure; wall times of the place.

A site that says nothing has no quiet hours. Nothing here keeps a call from everybody: what
cannot wait goes to who is on call, and where nobody is, through the quiet hours.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from protocols.hours import wall

# What people may choose to hear of. Each is one sort of call.
SORTS = ("reminder", "escalation", "overdue", "resolved", "alarm", "news")
# These cannot wait until morning.
URGENT = frozenset({"escalation", "overdue", "alarm"})


@dataclass(frozen=True, slots=True)
class RoleCalls:
    """What a role hears of at a site, and between which wall times it is left alone."""

    role: str
    hears: tuple[str, ...] = SORTS
    quiet_from: time | None = None
    quiet_to: time | None = None


@dataclass(frozen=True, slots=True)
class Listener:
    """A person who could be called: their roles, and whether they are there or on call."""

    roles: frozenset[str]
    on_duty: bool = False


def hears(listener: Listener, sort: str, settings: Sequence[RoleCalls]) -> bool:
    """Whether any of their roles is to hear of it. Who is on duty hears everything."""
    if listener.on_duty:
        return True
    said = {one.role: one for one in settings}
    return any(role not in said or sort in said[role].hears for role in listener.roles)


def quiet_until(
    listener: Listener, settings: Sequence[RoleCalls], at: datetime, zone: ZoneInfo
) -> datetime | None:
    """When the quiet hours end in which this person is at `at` (UTC); None where in none.

    With several roles only while all of them are left alone. Who is on duty never is.
    """
    if listener.on_duty or not listener.roles:
        return None
    said = {one.role: one for one in settings}
    ends = [_ends(said.get(role), at, zone) for role in sorted(listener.roles)]
    found = [one for one in ends if one is not None]
    return min(found) if len(found) == len(ends) else None


def when_to_call(
    to: Collection[str],
    listeners: Mapping[str, Listener],
    *,
    sort: str,
    limit: datetime | None,
    settings: Sequence[RoleCalls],
    at: datetime,
    zone: ZoneInfo,
) -> dict[str, datetime]:
    """Who is called of `to`, and at which moment, not before `at`.

    In quiet hours a call waits for their end, unless it is urgent or its `limit` comes before:
    then whoever is on duty hears it as well, and where nobody is, nobody's quiet hours hold.
    Where the settings leave nobody, everybody of `to` is called.
    """
    who = {one: listeners.get(one, Listener(frozenset())) for one in to}
    hearing = {one: found for one, found in who.items() if hears(found, sort, settings)} or who
    waits = {
        one: quiet_until(found, settings, at, zone) or at for one, found in hearing.items()
    }
    late = {
        one
        for one, moment in waits.items()
        if moment > at and (sort in URGENT or (limit is not None and limit <= moment))
    }
    if not late:
        return waits
    duty = {one for one, found in listeners.items() if found.on_duty}
    if not duty:
        return {one: at if one in late else moment for one, moment in waits.items()}
    return waits | dict.fromkeys(duty, at)


def _ends(said: RoleCalls | None, at: datetime, zone: ZoneInfo) -> datetime | None:
    """The end of the quiet span that holds `at`; its last moment is no longer quiet."""
    if said is None or said.quiet_from is None or said.quiet_to is None:
        return None
    today = at.astimezone(zone).date()
    for day in (today - timedelta(days=1), today):
        begins = wall(day, _minutes(said.quiet_from), zone)
        over = said.quiet_to <= said.quiet_from
        last = day + timedelta(days=1) if over else day
        ends = wall(last, _minutes(said.quiet_to), zone)
        if begins <= at < ends:
            return ends.astimezone(UTC)
    return None


def _minutes(moment: time) -> int:
    return moment.hour * 60 + moment.minute
