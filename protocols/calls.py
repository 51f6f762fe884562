"""What belongs into one call, how often it is tried, and what is not worth telling any more."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

# Alarms of one cause within this time are one call: the later ones join what was told.
GATHERED = timedelta(minutes=30)
# Told so much later, a notice is only put on the screen: it would frighten and help nobody.
STALE = timedelta(hours=12)
# How long after each failed try the next one comes; then it is given up.
BACK_OFF = tuple(timedelta(seconds=s) for s in (30, 60, 120, 300, 600, 1800, 3600, 7200))
# A try that was begun and never ended: the process died. It may have arrived.
LOST_AFTER = timedelta(minutes=10)

ALARMS = frozenset({"ammonia_alarm", "probe_silent", "probe_stuck", "device_silent"})
OF_TASKS = frozenset({"reminder", "escalation", "overdue", "resolved"})
# A power cut ends all probes of a site within minutes of each other.
ONE_CAUSE = frozenset({"probe_silent", "device_silent"})


def sort_of(kind: str) -> str:
    """The sort of call a notice is: one of `quiet.SORTS`."""
    if kind in OF_TASKS:
        return kind
    return "alarm" if kind in ALARMS else "news"


def cause_of(kind: str, body: Mapping[str, Any]) -> str:
    """What lies behind a notice, for those that are to be one call.

    The incident or fact that `body` names as its `cause`, else the kind of notice, and of a
    single danger (an ammonia alarm) the place as well.
    """
    if said := body.get("cause"):
        return f"{kind}:{said}"
    if kind in OF_TASKS or kind in ONE_CAUSE:
        return kind
    return f"{kind}:{body.get('container') or body.get('batch') or ''}"


def joins(kind: str, made: datetime, at: datetime) -> bool:
    """Whether a notice at `at` joins a call of its cause from `made` instead of being told
    by itself. Only alarms do: each limit is told by itself."""
    return kind in ALARMS and made <= at < made + GATHERED


def next_try(tries: int, at: datetime) -> datetime | None:
    """When to try again after so many failed tries; None to give up."""
    return at + BACK_OFF[tries - 1] if 0 < tries <= len(BACK_OFF) else None


@dataclass(frozen=True, slots=True)
class Standing:
    """How what a call is about stands when it is to be sent."""

    kind: str
    limit: datetime | None = None
    settled: bool = False
    closed_room: bool = False


def worth_telling(now: Standing, at: datetime) -> str:
    """Empty if it is to be told at `at`, else why not: `settled`, `room_closed`, `overdue`.

    A reminder past its limit is none: the overdue notice says what is true then.
    """
    if now.kind not in OF_TASKS or now.kind == "resolved":
        return ""
    if now.settled:
        return "settled"
    if now.closed_room:
        return "room_closed"
    if now.kind != "overdue" and now.limit is not None and at > now.limit:
        return "overdue"
    return ""
