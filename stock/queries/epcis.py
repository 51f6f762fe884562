"""Reports of a site with all that events in the sense of EPCIS need, some at a time."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q

from protocols.accounts import Notes, noted_account
from protocols.epcis import Around, Ended, Going, Put, Told, netted
from protocols.uids import as_uid
from protocols.values import Fact
from stock.judging.facts import value_of
from stock.judging.words import Words, words_by_fact
from stock.models import (
    CertificateText,
    FactSubject,
    Line,
    Parked,
    StayRow,
    Transfer,
)
from stock.models import Fact as FactRow
from stock.queries.audit import Span
from stock.queries.reports.folded import some

CHUNK = 500
# Words that are read into the report they are about; their goings are counted there.
READ_IN = frozenset({"fact_corrected", "fact_withdrawn", "fact_contradicted", "confirmed"})
# Which member of a report names an earlier one that it cannot be read without.
POINTS_TO = {"hold_lifted": "hold"}
# Corrections of the time make it earlier or later; how late it was told changes neither.
NEVER_LATE = timedelta(days=36500)
Goings = Mapping[UUID, Sequence[Going]]


@dataclass(frozen=True, slots=True)
class Read:
    """One report, what it needs beside it, and how it stands now if it was put right."""

    told: Told
    around: Around
    put: Put | None


def reports(span: Span, tree_size: int) -> Iterator[Read]:
    """What was performed in the span and the record book held at that size, as it was told.

    In the order of the record book, 500 at a time, in at most twelve queries each. Words about
    a report are read with it wherever they fall, if the book held them.
    """
    rows = FactRow.objects.filter(
        log=span.site,
        seq__lt=tree_size,
        performed_at__gte=span.begins,
        performed_at__lt=span.ends,
    ).exclude(kind__in=READ_IN)
    found = rows.order_by("seq").defer("entry", "leaf").using(settings.REPORTS)
    for chunk in some(found.iterator(chunk_size=CHUNK), CHUNK):
        yield from _page(span, chunk, known_by=tree_size - 1)


def last_entry_at(site: UUID, tree_size: int) -> datetime | None:
    """When the last of so many entries was made. One query."""
    rows = FactRow.objects.filter(log=site, seq__lt=tree_size).order_by("-seq")
    return rows.values_list("recorded_at", flat=True).first()


def _page(span: Span, rows: Sequence[FactRow], known_by: int) -> Iterator[Read]:
    facts = {row.uid: value_of(row) for row in rows}
    words = words_by_fact(facts, known_by=known_by)
    about = {uid: list(_said_of(uid, words)) for uid in facts}
    every = {one.uid for found in about.values() for one in found}
    gone = _goings(facts.keys() | every)
    ended, stood = _ended(facts.values()), _stood(facts.values())
    unfit = set(Parked.objects.filter(fact__in=facts).values_list("fact", flat=True))
    around = _around(span.site, facts.values(), gone)
    for row in rows:
        fact = facts[row.uid]
        told = Told(
            event=row.uid,
            # What never did fit is in the record book, and changed nothing.
            kind="parked" if row.uid in unfit else row.kind,
            body=row.body,
            at=row.performed_at,
            recorded_at=row.recorded_at,
            offset_min=row.offset_min,
            goings=tuple(gone.get(row.uid, ())),
            ended=ended.get(row.uid, ()),
            stood=stood.get(row.uid),
        )
        yield Read(told, around, _put(told, fact, about[row.uid], gone))


def _said_of(uid: UUID, words: Words) -> Iterator[Fact]:
    """Words about a report, and words about these."""
    asked, seen = [uid], {uid}
    while asked:
        for one in words.get(asked.pop(), ()):
            if one.kind in READ_IN and one.uid not in seen:
                seen.add(one.uid)
                asked.append(one.uid)
                yield one


def _put(told: Told, fact: Fact, about: Sequence[Fact], gone: Goings) -> Put | None:
    """How the report stands after what was said of it; None where that changed nothing."""
    moved = [going for one in about for going in gone.get(one.uid, ())]
    notes = Notes(about)
    withdrawn = notes.is_withdrawn(fact)
    if not (withdrawn or moved or notes.of("fact_corrected", fact.uid)):
        return None
    at = max(one.recorded_at for one in about)
    goings = netted([*told.goings, *moved])
    if withdrawn:
        return Put(at, None, goings)
    account = noted_account(fact, notes, NEVER_LATE)
    return Put(at, _as_now(told, account.body, account.when.earliest), goings)


def _as_now(told: Told, body: Mapping[str, Any], at: datetime) -> Told:
    return Told(
        event=told.event,
        kind=told.kind,
        body=body,
        at=at,
        recorded_at=told.recorded_at,
        offset_min=told.offset_min,
        ended=told.ended,
        stood=told.stood,
    )


def _goings(facts: Iterable[UUID]) -> Goings:
    found: dict[UUID, list[Going]] = defaultdict(list)
    names = ("fact", "from_holder", "from_place", "to_holder", "to_place", "count")
    rows = Transfer.objects.filter(fact__in=list(facts)).order_by("fact", "n")
    for fact, begin, left, end, reached, count in rows.values_list(*names):
        found[fact].append(Going((begin, left), (end, reached), count))
    return found


def _ended(facts: Iterable[Fact]) -> dict[UUID, tuple[Ended, ...]]:
    """The stays that these reports ended, by what they say or by what followed."""
    every = list(facts)
    named = {
        as_uid(one.body["ended_stay"]): one.uid for one in every if one.kind == "batch_moved"
    }
    by = [one.uid for one in every if one.kind in ("batch_split", "batches_joined")]
    found: dict[UUID, list[Ended]] = defaultdict(list)
    rows = StayRow.objects.filter(Q(uid__in=list(named)) | Q(ended_by__in=by))
    columns = rows.order_by("uid").values_list("uid", "batch", "container", "ended_by")
    for uid, batch, container, ended_by in columns:
        if by_whom := named.get(uid, ended_by):
            found[by_whom].append(Ended(uid, batch, container))
    return {uid: tuple(those) for uid, those in found.items()}


def _stood(facts: Iterable[Fact]) -> dict[UUID, UUID]:
    """In which container animals stood when they were handed over."""
    sent = [one for one in facts if one.kind == "animals_dispatched"]
    stays: dict[UUID, list[StayRow]] = defaultdict(list)
    rows = StayRow.objects.filter(batch__in={as_uid(one.body["batch"]) for one in sent})
    for row in rows.order_by("began_earliest", "uid") if sent else ():
        stays[row.batch_id].append(row)
    found = {}
    for one in sent:
        for row in stays[as_uid(one.body["batch"])]:
            if row.began_earliest <= one.performed_at:
                found[one.uid] = row.container_id
    return found


def _around(site: UUID, facts: Iterable[Fact], gone: Goings) -> Around:
    every = list(facts)
    came = {as_uid(one.body["consignment"]) for one in every if _is_delivery(one)}
    out = {one.begin[0] for those in gone.values() for one in those if _is_of_line(one)}
    counted = {as_uid(one.body["line"]) for one in every if one.kind == "line_counted"}
    rows = list(
        Line.objects.filter(Q(uid__in=out | counted) | Q(consignment__in=came))
        .select_related("consignment", "species")
        .order_by("consignment", "n")
    )
    printed = _printed({row.consignment_id for row in rows})
    boxes: dict[UUID, dict[str, None]] = defaultdict(dict)
    for row in rows:
        names = [box["box"] for box in row.boxes] or ([row.box] if row.box else [])
        boxes[row.consignment_id] |= dict.fromkeys(names)
    consignments = {row.consignment_id: row.consignment for row in rows}
    return Around(
        site=site,
        boxes={uid: tuple(names) for uid, names in boxes.items()},
        waybills={uid: one.waybill for uid, one in consignments.items() if one.waybill},
        suppliers={uid: one.supplier_id for uid, one in consignments.items()},
        lines={row.uid: _line(row, printed.get(row.uid, {})) for row in rows},
        of=_pointed_to(every),
        addresses=_addresses(every),
    )


def _is_delivery(fact: Fact) -> bool:
    return fact.kind == "consignment_delivered"


def _is_of_line(going: Going) -> bool:
    return "doa" in (going.begin[1], going.end[1]) or going.begin[1] in ("outside", "received")


def _printed(consignments: Iterable[UUID]) -> dict[UUID, Mapping[str, Any]]:
    """What the lists say of each line, the newest last."""
    told = FactSubject.objects.filter(subject__in=list(consignments)).values("fact")
    rows = FactRow.objects.filter(uid__in=told, kind="list_applied").order_by("seq")
    bodies = rows.values_list("body", flat=True)
    return {as_uid(line["line"]): line for body in bodies for line in body["lines"]}


def _line(row: Line, printed: Mapping[str, Any]) -> Mapping[str, Any]:
    wild = printed.get("wild")
    return {
        "consignment": row.consignment_id,
        "listed": row.listed,
        "scientific_name": row.species.scientific_name if row.species else None,
        "aphia_id": row.species.aphia_id if row.species else None,
        "origin": printed.get("origin"),
        "source_type": None if wild is None else "W" if wild else "C",
    }


def _pointed_to(facts: Iterable[Fact]) -> dict[UUID, Mapping[str, Any]]:
    uids = [as_uid(one.body[POINTS_TO[one.kind]]) for one in facts if one.kind in POINTS_TO]
    return dict(FactRow.objects.filter(uid__in=uids).values_list("uid", "body"))


def _addresses(facts: Iterable[Fact]) -> dict[UUID, str]:
    """Where the public pages of certificates are."""
    uids = {as_uid(one.body["certificate"]) for one in facts if _is_of_certificate(one)}
    rows = CertificateText.objects.filter(certificate__in=uids)
    return dict(rows.values_list("certificate", "address"))


def _is_of_certificate(fact: Fact) -> bool:
    return fact.kind.startswith("certificate_")
