"""What a site decides for itself: rules, staffed hours, shifts. They change only forward."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.bodies import BodyRefused
from protocols.clocks import utc_text
from protocols.site_rules import read_rules
from protocols.staffing import read_hours
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Device, Role
from stock.queries.sites import device_shown, hours_shown, newest_seq, rules_shown
from stock.refusals import changed, label_taken, refuse


def set_rules(
    asking: Asking,
    *,
    site: UUID,
    rules: Mapping[str, Any],
    in_force_from: datetime,
    version: int,
) -> Answered:
    """Other rules for the site from a moment on; what is not said keeps its default."""
    return _change(
        asking,
        site,
        kind="rules_set",
        in_force_from=in_force_from,
        version=version,
        faults=lambda: _rule_faults(rules),
        body={"rules": dict(rules)},
        show=lambda: rules_shown(site, asking.now),
    )


def set_hours(
    asking: Asking,
    *,
    site: UUID,
    weekly: Sequence[Mapping[str, Any]],
    exceptions: Sequence[Mapping[str, Any]],
    in_force_from: datetime,
    version: int,
) -> Answered:
    """Other staffed hours from a moment on. They move plans, never a limit."""
    body = {"weekly": list(weekly), "exceptions": list(exceptions)}
    return _change(
        asking,
        site,
        kind="hours_set",
        in_force_from=in_force_from,
        version=version,
        faults=lambda: _hours_faults(body),
        body=body,
        show=lambda: hours_shown(site, asking.now),
    )


def set_shift(
    asking: Asking, *, site: UUID, person: UUID, begins: datetime, ends: datetime, on_call: bool
) -> Answered:
    """Who is on from when to when."""
    access.site_for(asking.person, site, access.MANAGERS)
    uid = asking.new_uid()
    body = {
        "shift": str(uid),
        "person": str(person),
        "from": utc_text(begins),
        "to": utc_text(ends),
        "on_call": on_call,
    }

    def ask(works_here: bool) -> Iterator[Reason]:
        if not works_here:
            yield refuse("not_found")
        if ends <= begins:
            yield refuse("unreadable", "A shift ends after it begins.", pointer="/to")

    return enter(
        asking,
        site,
        Door(
            load=lambda log: Role.objects.filter(site=log.uid, person=person).exists(),
            ask=ask,
            tell=lambda _: (Told("shift_set", body),),
            show=lambda _: {"shift": body},
        ),
    )


def _change(
    asking: Asking,
    site: UUID,
    *,
    kind: str,
    in_force_from: datetime,
    version: int,
    faults: Callable[[], Iterable[Reason]],
    body: Mapping[str, Any],
    show: Callable[[], dict[str, Any]],
) -> Answered:
    access.site_for(asking.person, site, access.MANAGERS)

    def ask(newest: int) -> Iterator[Reason]:
        yield from faults()
        if newest != version:
            yield changed(newest, version)
        if in_force_from < asking.now:
            yield refuse(
                "unreadable",
                "This changes from now on or later, never for the past.",
                pointer="/in_force_from",
            )

    told = Told(kind, {"in_force_from": utc_text(in_force_from), **body})
    return enter(
        asking,
        site,
        Door(
            load=lambda log: newest_seq(kind, log.uid),
            ask=ask,
            tell=lambda _: (told,),
            show=lambda _: show(),
        ),
    )


def _rule_faults(rules: Mapping[str, Any]) -> tuple[Reason, ...]:
    read = read_rules(rules)
    return read if isinstance(read, tuple) else ()


def _hours_faults(body: Mapping[str, Any]) -> tuple[Reason, ...]:
    try:
        read_hours(body)
    except BodyRefused as wrong:
        return wrong.reasons
    return ()


@dataclass(frozen=True, slots=True)
class DeviceAsked:
    """A tablet or probe by its label; `version` is what the asker has read of one there is."""

    site: UUID
    label: str
    ended_at: datetime | None = None
    uid: UUID | None = None
    version: int | None = None

    def faults(self, uid: UUID, known: Device | None) -> Iterator[Reason]:
        if known is not None and known.version != self.version:
            yield changed(known.version, self.version)
        same = Device.objects.filter(site=self.site, label=self.label).exclude(uid=uid)
        if same.exists():
            yield label_taken(self.label)


def set_device(
    asking: Asking, *, asked: DeviceAsked, roles: Iterable[str] = access.MANAGERS
) -> Answered:
    """Enrol a tablet or probe at a site, or change one.

    Devices stand in the organisation's record book, so that a lost one can be ended at once.
    """
    access.site_for(asking.person, asked.site, roles)
    uid = asked.uid or asking.new_uid()
    body: dict[str, Any] = {"device": uid, "site": asked.site, "label": asked.label}
    if asked.ended_at is not None:
        body["ended_at"] = utc_text(asked.ended_at)
    return enter(
        asking,
        asking.person.organisation,
        Door(
            load=lambda _: Device.read(uid=uid),
            ask=lambda known: asked.faults(uid, known),
            tell=lambda _: (Told("device_set", body),),
            show=lambda _: {"device": device_shown(uid)},
        ),
    )
