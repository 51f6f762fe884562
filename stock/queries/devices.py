"""What is known of tablets: which entries came, which are missing, since when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.clocks import corrected
from stock.models import Device, DeviceReport, EntryOfDevice, Fact, Person, Role
from stock.models.devices import SETTLED

MISSING_MOST = 1000


@dataclass(frozen=True, slots=True)
class DeviceSeen:
    """A device, where it belongs and how its clock ran when it last told."""

    uid: UUID
    site: UUID
    organisation: UUID
    label: str
    clock_offset_ms: int | None


@dataclass(frozen=True, slots=True)
class Doer:
    """Somebody of an organisation; `ended` says that they cannot sign in at the site."""

    uid: UUID
    name: str
    ended: bool


@dataclass(frozen=True, slots=True)
class Holding:
    """So many entries are on a tablet and not here, the oldest since `since`.

    `looks` of them were here and need a person; `tries` is how often the most tried one came;
    `known_since` is when the service first heard of it.
    """

    device: UUID
    label: str
    unsent: int
    since: datetime | None
    heard_at: datetime
    known_since: datetime
    looks: int
    tries: int


def device_seen(uid: UUID) -> DeviceSeen | None:
    """One device; None where there is none. Two queries."""
    row = Device.objects.select_related("site").filter(uid=uid).first()
    if row is None:
        return None
    offsets = DeviceReport.objects.filter(device=uid).values_list("clock_offset_ms", flat=True)
    return DeviceSeen(uid, row.site_id, row.site.organisation_id, row.label, offsets.first())


def doer_at(site: UUID, organisation: UUID, uid: UUID) -> Doer | None:
    """Who this is at the site; None for somebody of another organisation. Two queries."""
    row = Person.objects.filter(uid=uid, organisation=organisation).first()
    if row is None:
        return None
    works = row.is_active and Role.objects.filter(person=uid, site=site).exists()
    return Doer(uid, row.name, ended=not works)


def last_entry_no(device: UUID) -> int:
    """The highest number of an entry of this device that anybody heard of. Three queries.

    A browser that lost what it kept goes on counting from here.
    """
    entries = EntryOfDevice.objects.filter(device=device).order_by("-no")
    facts = Fact.objects.filter(device=device).order_by("-entry_no")
    said = DeviceReport.objects.filter(device=device)
    return max(
        entries.values_list("no", flat=True).first() or 0,
        facts.values_list("entry_no", flat=True).first() or 0,
        said.values_list("last_entry_no", flat=True).first() or 0,
    )


def missing_numbers(device: UUID, last: int) -> list[int]:
    """The numbers up to `last` whose entries are not settled here, at most the first thousand.

    Two queries. What a program told under a number of the device counts as well.
    """
    entries = EntryOfDevice.objects.filter(device=device, no__lte=last, answer__in=SETTLED)
    facts = Fact.objects.filter(device=device, entry_no__lte=last)
    told = (no for no in facts.values_list("entry_no", flat=True) if no is not None)
    found = _between(sorted({*entries.values_list("no", flat=True), *told}), last)
    return [no for no, _ in zip(found, range(MISSING_MOST), strict=False)]


def _between(known: Iterable[int], last: int) -> Iterator[int]:
    before = 0
    for no in known:
        yield from range(before + 1, no)
        before = max(before, no)
    yield from range(before + 1, last + 1)


def holdings(site: UUID) -> list[Holding]:
    """What the tablets of a site still hold, by their own word and by what came. Three queries.

    A tablet that was ended, such as a lost one, still counts: what it holds nobody else has.
    """
    reports = {row.device: row for row in DeviceReport.objects.filter(site=site)}
    open_: dict[UUID, list[EntryOfDevice]] = {}
    rows = EntryOfDevice.objects.filter(site=site).exclude(answer__in=SETTLED)
    for row in rows.order_by("no"):
        open_.setdefault(row.device, []).append(row)
    uids = {*reports, *open_}
    names = Device.objects.filter(uid__in=uids).order_by("label").values_list("uid", "label")
    found = (_holding(uid, label, reports.get(uid), open_.get(uid, [])) for uid, label in names)
    return [one for one in found if one is not None]


def _holding(
    uid: UUID, label: str, report: DeviceReport | None, entries: list[EntryOfDevice]
) -> Holding | None:
    told = 0 if report is None else report.unsent
    if not told and not entries:
        return None
    made = [_made_at(one) for one in entries]
    heard = [one.tried_at for one in entries]
    known = [one.arrived_at for one in entries]
    tries = [one.tries for one in entries]
    if report is not None:
        heard.append(report.arrived_at)
        if told:
            tries.append(report.held_reports)
            known.append(report.held_since or report.arrived_at)
            made += [report.oldest_unsent_at] if report.oldest_unsent_at else []
    return Holding(
        device=uid,
        label=label,
        unsent=max(told, len(entries)),
        since=min(made, default=None),
        heard_at=max(heard),
        known_since=min(known),
        looks=sum(one.answer == "look" for one in entries),
        tries=max(tries),
    )


def _made_at(row: EntryOfDevice) -> datetime:
    return (
        row.raw_at
        if row.clock_offset_ms is None
        else corrected(row.raw_at, row.clock_offset_ms)
    )
