"""Of each supplier what was lost for certain, and what may have been theirs."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from protocols.amended import in_force
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.models import Batch, Fact, FactSubject, Line, Loss, Transfer
from stock.models.counts import FATES
from stock.queries.as_of import NOW, AsOf
from stock.queries.origins import lines_of

Whose = Mapping[UUID, tuple[str, UUID]]


@dataclass(frozen=True, slots=True)
class Lost:
    """So many of a batch that are gone; the lines they came out of, where that was told."""

    batch: UUID
    count: int
    lines: tuple[UUID, ...] = ()


def supplier_losses(site: UUID, then: AsOf = NOW) -> list[dict[str, Any]]:
    """Losses by supplier, also those of another moment or as they were known then.

    What can have come from several suppliers is undecided for each of them: nobody guesses.
    A fixed number of queries.
    """
    losses = list(_lost_then(site, then) if then else _lost(site))
    whose = _whose(site, then)
    lines = lines_of({one.batch for one in losses})
    lost, open_ = Counter[tuple[str, UUID]](), Counter[tuple[str, UUID]]()
    for one in losses:
        named = one.lines or lines[one.batch]
        suppliers = {whose[uid] for uid in named if uid in whose}
        for supplier in suppliers:
            (lost if len(suppliers) == 1 else open_)[supplier] += one.count
    return [
        {
            "supplier": name,
            "uid": str(uid),
            "lost": lost[name, uid],
            "undecided": open_[name, uid],
        }
        for name, uid in sorted(set(whose.values()))
    ]


def _whose(site: UUID, then: AsOf) -> Whose:
    """Of each line, as far as it was known of, the supplier. One query."""
    rows = Line.objects.filter(consignment__site=site)
    if then.known_by is not None:
        known = {"subject": OuterRef("uid"), "fact__seq__lte": then.known_by}
        rows = rows.filter(Exists(FactSubject.objects.filter(**known)))
    names = ("uid", "consignment__supplier", "consignment__supplier__name")
    return {uid: (name, supplier) for uid, supplier, name in rows.values_list(*names)}


def _lost(site: UUID) -> Iterator[Lost]:
    rows = Loss.objects.filter(batch__site=site).values_list("batch", "count", "origin")
    for batch, count, origin in rows:
        yield Lost(batch, count, tuple(UUID(uid) for uid in origin))


def _lost_then(site: UUID, then: AsOf) -> Iterator[Lost]:
    """The same out of the transfers of then: rows hold what was corrected since."""
    batches = set(Batch.objects.filter(site=site).values_list("uid", flat=True))
    facts = {row.uid: row for row in _facts(site, then)}
    words = words_about(facts, known_by=then.known_by)
    totals = Counter[tuple[UUID, UUID]]()
    rows = Transfer.objects.filter(
        Q(from_place__in=FATES) | Q(to_place__in=FATES), fact__in=list(facts)
    )
    if then.at is not None:
        rows = rows.filter(performed_at__lte=then.at)
    for row in rows:
        report = _report(facts[row.fact], facts)
        if row.to_place in FATES and row.to_holder in batches:
            totals[report.uid, row.to_holder] += row.count
        if row.from_place in FATES and row.from_holder in batches:
            totals[report.uid, row.from_holder] -= row.count
    for (report_uid, batch), count in totals.items():
        said = in_force(value_of(facts[report_uid]), words) or {}
        yield Lost(batch, count, tuple(UUID(uid) for uid in said.get("origin", ())))


def _facts(site: UUID, then: AsOf) -> Iterator[Fact]:
    """What moved animals to those that are gone, or back, and what that was about."""
    moved = Transfer.objects.filter(Q(from_place__in=FATES) | Q(to_place__in=FATES))
    words = Fact.objects.filter(log=site, uid__in=moved.values("fact")).values("about")
    # A confirmation of a correction of a report is as deep as words about words go.
    deeper = Fact.objects.filter(log=site, uid__in=words).values("about")
    known = AsOf(known_by=then.known_by).facts(site)
    yield from known.filter(
        Q(uid__in=moved.values("fact")) | Q(uid__in=words) | Q(uid__in=deeper)
    )


def _report(fact: Fact, facts: Mapping[UUID, Fact]) -> Fact:
    """The report that moved them, or that the word is about which did."""
    found = facts.get(fact.about) if fact.about is not None else None
    return fact if found is None else _report(found, facts)
