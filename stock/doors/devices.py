"""What arrives from tablets beside facts: numbered entries, and what each still holds.

Nothing here is told about animals: facts enter by the doors that the entries are sent to.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import OperationalError, transaction

from protocols.clocks import utc_text
from stock import access, clock
from stock.access import Person
from stock.models import DeviceReport, EntryOfDevice
from stock.models.devices import SETTLED
from stock.outbox import Telling, leave
from stock.queries.devices import DeviceSeen, holdings, missing_numbers
from stock.refusals import NotFound, Refused, refuse

TRIES = 3  # failed so often, somebody has to be told
MILLISECOND = timedelta(milliseconds=1)


@dataclass(frozen=True, slots=True)
class Came:
    """One entry as it came to its page. `messenger` is None where nobody was signed in."""

    device: DeviceSeen
    no: int
    key: str
    address: str
    doer: UUID
    messenger: UUID | None
    raw_at: datetime
    clock_offset_ms: int | None
    monotonic_ms: int | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What it was answered. `fields` are kept only while a person has to look at them."""

    answer: str
    fact: UUID | None = None
    says: Sequence[str] = ()
    fields: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Report:
    """What a device says of itself; moments are by its own clock."""

    sent_at: datetime
    unsent: int
    last_entry_no: int
    oldest_unsent_at: datetime | None = None
    monotonic_ms: int | None = None


def note_entry(came: Came, outcome: Outcome, now: datetime) -> None:
    """Keep that this entry came and what it was answered. Settled once, it stays settled.

    After the answer's own change was committed: were this lost, the tablet would send again
    and be told that the entry is there already. Raises Refused (busy).
    """
    try:
        with transaction.atomic():
            _note(came, outcome, now)
    except OperationalError as error:
        raise Refused(refuse("busy", "Somebody else is writing; try again.")) from error


def _note(came: Came, outcome: Outcome, now: datetime) -> None:
    told = {
        "site": came.device.site,
        "key": came.key,
        "address": came.address,
        "doer": came.doer,
        "messenger": came.messenger,
        "raw_at": came.raw_at,
        "clock_offset_ms": came.clock_offset_ms,
        "monotonic_ms": came.monotonic_ms,
        "tried_at": now,
        "answer": outcome.answer,
        "fact": outcome.fact,
        "fields": dict(outcome.fields),
        "says": list(outcome.says),
    }
    rows = EntryOfDevice.objects.select_for_update()
    row, is_new = rows.get_or_create(
        device=came.device.uid, no=came.no, defaults={**told, "arrived_at": now}
    )
    if not is_new and not (row.key == came.key and row.answer in SETTLED):
        for name, value in told.items():
            setattr(row, name, value)
        row.tries += 1
        row.save()
    if row.answer not in SETTLED and row.tries >= TRIES:
        _tell_held(came.device, now)


def take_report(device: DeviceSeen, report: Report, now: datetime) -> dict[str, Any]:
    """Keep what a device says it still holds, and tell it what is missing and how it runs.

    The offset is this service's clock minus the device's, in ms, so that it is added.
    """
    offset_ms = (now - report.sent_at) // MILLISECOND
    missing = missing_numbers(device.uid, report.last_entry_no)
    try:
        with transaction.atomic():
            clock.advance(device.site, now)
            _keep_report(device, report, (offset_ms, len(missing)), now)
    except OperationalError as error:
        raise Refused(refuse("busy", "Somebody else is writing; try again.")) from error
    return {"clock_offset_ms": offset_ms, "missing": missing, "now": now}


def _keep_report(
    device: DeviceSeen, report: Report, found: tuple[int, int], now: datetime
) -> None:
    offset_ms, missing = found
    since = report.oldest_unsent_at
    told = {
        "site": device.site,
        "sent_at": report.sent_at,
        "arrived_at": now,
        "clock_offset_ms": offset_ms,
        "monotonic_ms": report.monotonic_ms,
        "unsent": report.unsent,
        "oldest_unsent_at": since and since + offset_ms * MILLISECOND,
        "last_entry_no": report.last_entry_no,
        "missing": missing,
    }
    rows = DeviceReport.objects.select_for_update()
    row, _ = rows.get_or_create(device=device.uid, defaults=told)
    for name, value in told.items():
        setattr(row, name, value)
    row.held_reports = row.held_reports + 1 if report.unsent else 0
    row.held_since = (row.held_since or now) if report.unsent else None
    row.save()
    if row.held_reports >= TRIES:
        _tell_held(device, now)


def _tell_held(device: DeviceSeen, now: datetime) -> None:
    """Once for each time that entries wait, by when the service first heard of it."""
    for one in holdings(device.site):
        if one.device == device.uid:
            body = {
                "device": str(one.device),
                "label": one.label,
                "unsent": one.unsent,
                "since": utc_text(one.since or one.known_since),
            }
            effect = f"entries_held/{one.device}/{utc_text(one.known_since)}"
            leave(device.site, Telling(effect, "entries_held", body), now)


def give_up(person: Person, device: DeviceSeen, no: int, why: str, now: datetime) -> None:
    """An entry that needs a person is not told after all; it stays here with what it said.

    By who did it or a manager, with a reason. Raises NotFound or Refused.
    """
    site = access.site_for(person, device.site, access.HANDS)
    with transaction.atomic():
        rows = EntryOfDevice.objects.select_for_update().filter(device=device.uid, no=no)
        row = rows.first()
        if row is None:
            raise NotFound
        if row.answer == "given_up":
            return
        if row.answer in SETTLED:
            raise Refused(refuse("contradicts_record", "This entry is in the record book."))
        if person.uid != row.doer:
            access.site_for(person, site.uid, access.MANAGERS)
        row.answer, row.given_up_by, row.given_up_why = "given_up", person.uid, why
        row.tried_at = now
        row.save(update_fields=["answer", "given_up_by", "given_up_why", "tried_at"])
