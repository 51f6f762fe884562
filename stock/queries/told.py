"""What was told, for people to read: facts with their notes, and names of what they name."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import CharField, F, Q, QuerySet
from django.db.models.functions import Cast

from protocols.codes import SERVICE
from stock.models import (
    Batch,
    Certificate,
    Consignment,
    Container,
    Device,
    Fact,
    FactSubject,
    FactText,
    Instrument,
    Kit,
    Line,
    Person,
    Piece,
    Rack,
    Room,
    Species,
    Supplier,
    System,
)

PAGE = 50
BY_RULE = "the service, by rule"
COLUMNS = (
    "uid",
    "seq",
    "kind",
    "performed_at",
    "recorded_at",
    "doer",
    "messenger",
    "standing",
    "reason",
    "insist",
    "body",
    "device",
    "entry_no",
    "raw_at",
    "clock_offset_ms",
    "delivered",
)
# How each sort of thing is called where people read of it.
NAMES: tuple[tuple[Any, str], ...] = (
    (Batch, "code"),
    (Container, "label"),
    (Kit, "label"),
    (Piece, "label"),
    (Instrument, "label"),
    (Room, "label"),
    (Rack, "label"),
    (System, "label"),
    (Device, "label"),
    (Line, "text"),
    (Consignment, "waybill"),
    (Supplier, "name"),
    (Species, "scientific_name"),
    (Certificate, "number"),
    (Person, "name"),
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the record book."""

    uid: UUID
    seq: int
    kind: str
    performed_at: datetime
    recorded_at: datetime
    doer: UUID
    messenger: UUID
    standing: str
    reason: str | None
    insist: list[dict[str, Any]]
    body: dict[str, Any]
    device: UUID | None = None
    entry_no: int | None = None
    raw_at: datetime | None = None
    clock_offset_ms: int | None = None
    delivered: bool | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Page:
    """Entries, newest first; `before` is where the next page begins, if there is one."""

    entries: tuple[Entry, ...]
    names: Mapping[str, str] = field(default_factory=dict)
    before: int | None = None


def entries_of_log(log: UUID, *, before: int | None) -> Page:
    """The record book of a site, a page at a time. Three queries."""
    return _page(Fact.objects.filter(log=log), before)


def entries_about(site: UUID, subjects: Iterable[UUID], *, before: int | None = None) -> Page:
    """What was told of any of these, or is one of them, a page at a time. Three queries."""
    wanted = list(subjects)
    told = FactSubject.objects.filter(subject__in=wanted).values("fact")
    # What is said of a report names the report alone.
    spoken_of = Q(uid__in=told) | Q(uid__in=wanted) | Q(about__in=told)
    return _page(Fact.objects.filter(spoken_of, log=site), before)


def named(uids: Iterable[str]) -> dict[str, str]:
    """What people call each of these. One query, however many sorts of things there are."""
    wanted = {UUID(uid) for uid in uids}
    if not wanted:
        return {}
    first, *others = (_names(model, column, wanted) for model, column in NAMES)
    found = {str(uid): name for uid, name in first.union(*others, all=True) if name}
    return found | ({str(SERVICE): BY_RULE} if SERVICE in wanted else {})


def names_in(bodies: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """What people call whatever these bodies name. One query."""
    return named(uid for body in bodies for uid in _uids(body))


def _page(rows: QuerySet[Fact], before: int | None) -> Page:
    if before is not None:
        rows = rows.filter(seq__lt=before)
    found = list(rows.order_by("-seq").values(*COLUMNS)[: PAGE + 1])
    shown = found[:PAGE]
    texts = FactText.objects.filter(fact__in=[row["uid"] for row in shown], name="note")
    notes = dict(texts.values_list("fact", "value"))
    entries = tuple(Entry(**row, note=notes.get(row["uid"])) for row in shown)
    uids = {uid for one in entries for uid in _uids_of(one)}
    return Page(
        entries=entries,
        names=named(uids),
        before=shown[-1]["seq"] if len(found) > PAGE else None,
    )


def _names(model: Any, column: str, wanted: set[UUID]) -> Any:
    rows = model.objects.order_by().filter(uid__in=wanted)
    # One type for all, or the parts of a union do not fit together.
    return rows.annotate(called=Cast(F(column), CharField())).values_list("uid", "called")


def _uids_of(entry: Entry) -> Iterator[str]:
    yield str(entry.doer)
    yield str(entry.messenger)
    if entry.device is not None:
        yield str(entry.device)
    yield from _uids(entry.body)


def _uids(value: Any) -> Iterator[str]:
    if isinstance(value, Mapping):
        for member in value.values():
            yield from _uids(member)
    elif isinstance(value, list):
        for member in value:
            yield from _uids(member)
    elif isinstance(value, str) and len(value) == 36 and value.count("-") == 4:
        try:
            UUID(value)
        except ValueError:
            return
        yield value
