"""The form of EPCIS 2.0 events: how things are named, when they were, how many they speak of.

EPCIS 2.0 JSON-LD (ISO/IEC 19987), vocabulary CBV 2.0 (ISO/IEC 19988). Names are of the private
form that CBV 2.0 section 8 allows to everybody: `https://DOMAIN/id/class/ID`, or
`urn:fillmark:class:ID` where the service has no address of its own.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

from protocols.clocks import utc_text

Event = dict[str, Any]
CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
CONTEXT_PATH = "/contexts/epcis/v1"
PREFIX = "fillmark"


@dataclass(frozen=True, slots=True)
class Names:
    """Addresses of what events speak of; `base` is `https://shop.example`, or empty."""

    base: str = ""

    @property
    def terms(self) -> str:
        """What the prefix of our own terms stands for."""
        return f"{self.base}{CONTEXT_PATH}#" if self.base else "urn:fillmark:terms:v1:"

    def of(self, sort: str, name: object) -> str:
        """The address of a thing of one sort: class, obj, loc, bt or party."""
        mark = "/" if self.base else ":"
        return f"{self.base}/id/{sort}/{name}" if mark == "/" else f"urn:fillmark:{sort}:{name}"

    def step(self, word: str) -> str:
        """A business step of our own, where CBV has none."""
        return f"{self.terms}BizStep-{word}"

    def context(self) -> list[Any]:
        return [CONTEXT, {PREFIX: self.terms}]


@dataclass(frozen=True, slots=True)
class Going:
    """So many animals from one place of a holder (a line, a batch) to another."""

    begin: tuple[UUID, str]
    end: tuple[UUID, str]
    count: int


@dataclass(frozen=True, slots=True)
class Ended:
    """A stay that a report ended: whose it was, and in which container."""

    stay: UUID
    batch: UUID
    container: UUID


@dataclass(frozen=True, slots=True)
class Around:
    """What a report does not say itself, read beside it, by the uids that it names.

    `boxes` are those of a consignment; `of` what an earlier report said that it points to.
    """

    site: UUID
    boxes: Mapping[UUID, tuple[str, ...]] = field(default_factory=dict)
    waybills: Mapping[UUID, str] = field(default_factory=dict)
    suppliers: Mapping[UUID, UUID] = field(default_factory=dict)
    lines: Mapping[UUID, Mapping[str, Any]] = field(default_factory=dict)
    of: Mapping[UUID, Mapping[str, Any]] = field(default_factory=dict)
    addresses: Mapping[UUID, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Told:
    """A report as events are made of it; `event` names the events, `offset_min` its clock."""

    event: UUID
    kind: str
    body: Mapping[str, Any]
    at: datetime
    recorded_at: datetime
    offset_min: int
    goings: tuple[Going, ...] = ()
    ended: tuple[Ended, ...] = ()
    stood: UUID | None = None


def event_id(told: Told, n: int) -> str:
    """The name of the nth event of a report: the same whenever it is exported."""
    return f"urn:uuid:{uuid5(told.event, f'epcis/{n}')}"


def dated(told: Told, event: Event, n: int) -> Event:
    """The event with its name and times, members in one fixed order."""
    sign, minutes = "-" if told.offset_min < 0 else "+", abs(told.offset_min)
    return {
        "type": event.pop("type"),
        "eventID": event_id(told, n),
        "eventTime": utc_text(told.at),
        "eventTimeZoneOffset": f"{sign}{minutes // 60:02}:{minutes % 60:02}",
        "recordTime": utc_text(told.recorded_at),
        **event,
    }


def object_event(action: str, step: str, disposition: str | None = None, **more: Any) -> Event:
    """An ObjectEvent without its name and times."""
    event: Event = {"type": "ObjectEvent", "action": action, "bizStep": step}
    if disposition:
        event["disposition"] = disposition
    return {**event, **more}


def quantity(names: Names, holder: object, count: int | None = None) -> Event:
    """So many animals of a line or batch; without a number: whoever is in it."""
    of: Event = {"epcClass": names.of("class", holder)}
    return of if count is None else {**of, "quantity": count}


def own(**terms: Any) -> Event:
    """Members of our own, each under the prefix; those that are not known are left out."""
    return {f"{PREFIX}:{name}": value for name, value in terms.items() if value is not None}


def netted(goings: Iterable[Going]) -> tuple[Going, ...]:
    """The same goings with what went back taken off, none twice, in a fixed order."""
    sums: dict[tuple[tuple[UUID, str], tuple[UUID, str]], int] = {}
    for one in goings:
        if (one.end, one.begin) in sums:
            sums[one.end, one.begin] -= one.count
        else:
            sums[one.begin, one.end] = sums.get((one.begin, one.end), 0) + one.count
    forth = (Going(begin, end, n) for (begin, end), n in sums.items() if n > 0)
    back = (Going(end, begin, -n) for (begin, end), n in sums.items() if n < 0)
    return (*forth, *back)


def later(moment: datetime, seconds: int) -> str:
    """So many seconds after a moment."""
    return utc_text(moment + timedelta(seconds=seconds))
