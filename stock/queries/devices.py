"""What is known of tablets: which entries came, which are missing, since when."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef

from protocols.certifying import SilentDevice
from protocols.clocks import corrected
from protocols.values import Rules
from stock.models import (
    Batch,
    DeviationRow,
    Device,
    DeviceReport,
    EntryOfDevice,
    Fact,
    Person,
    Role,
    Tablet,
)
from stock.models.devices import SETTLED
from stock.queries.told import names_in
from stock.refusals import NotFound

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
    names = Device.objects.filter(site=site).order_by("label").values_list("uid", "label")
    return _holdings(dict(names))[0]


def _holdings(names: Mapping[UUID, str]) -> tuple[list[Holding], dict[UUID, DeviceReport]]:
    """What these devices hold, and what each reported last. Two queries, none for nothing."""
    if not names:
        return [], {}
    reports = {row.device: row for row in DeviceReport.objects.filter(device__in=names)}
    open_: dict[UUID, list[EntryOfDevice]] = {}
    rows = EntryOfDevice.objects.filter(device__in=names).exclude(answer__in=SETTLED)
    for row in rows.order_by("no"):
        open_.setdefault(row.device, []).append(row)
    found = (
        _holding(uid, label, reports.get(uid), open_.get(uid, []))
        for uid, label in names.items()
    )
    return [one for one in found if one is not None], reports


def _holding(
    uid: UUID, label: str, report: DeviceReport | None, entries: list[EntryOfDevice]
) -> Holding | None:
    told = 0 if report is None else report.unsent or report.missing
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


def silent_devices(batch: UUID, rules: Rules, at: datetime) -> list[SilentDevice]:
    """The tablets of the batch's site that hold entries, or were not heard of.

    Of those that were ended, and of somebody's own telephone, only what they hold. Four
    queries, one where there are no devices.
    """
    site = Batch.objects.filter(uid=batch).values("site")
    devices = {one.uid: one for one in Device.objects.filter(site__in=site).order_by("label")}
    if not devices:
        return []
    holding, reports = _holdings({uid: one.label for uid, one in devices.items()})
    held = {one.device: one for one in holding}
    shared = Tablet.objects.filter(device__in=devices, owner=None)
    heard = dict(shared.values_list("device", "enrolled_at"))
    watched = {uid for uid in heard if devices[uid].ended_at is None}
    heard |= {one.device: one.heard_at for one in holding}
    heard |= {uid: one.arrived_at for uid, one in reports.items()}
    return [
        SilentDevice(uid, devices[uid].label, since, held[uid].unsent if uid in held else 0)
        for uid, since in sorted(heard.items(), key=lambda one: devices[one[0]].label)
        if since <= at and (uid in held or (uid in watched and _is_silent(at - since, rules)))
    ]


def _is_silent(gap: timedelta, rules: Rules) -> bool:
    return gap >= timedelta(seconds=rules.device_silent_s)


def delivered_unconfirmed(site: UUID) -> tuple[list[Fact], dict[str, str]]:
    """What another brought than who did it, and nobody confirmed, oldest first; names in it.

    Two queries. What is asked about on its own, such as a move, is left out.
    """
    said = Fact.objects.filter(about=OuterRef("uid"), kind__in=("confirmed", "fact_withdrawn"))
    asked = DeviationRow.objects.filter(
        cause=OuterRef("uid"), rule="late_unconfirmed", open=True
    )
    rows = Fact.objects.filter(~Exists(said), ~Exists(asked), log=site, delivered=True)
    found = list(rows.order_by("seq")[:MISSING_MOST])
    bodies = [{"doer": str(one.doer), "by": str(one.messenger), **one.body} for one in found]
    return found, names_in(bodies)


def site_of_fact(fact: UUID) -> UUID:
    """In whose record book a fact stands. One query. Raises NotFound."""
    found: UUID | None = Fact.objects.filter(uid=fact).values_list("log", flat=True).first()
    if found is None:
        raise NotFound
    return found
