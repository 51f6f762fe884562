"""What is kept for how long, what a legal hold stands over, and what could be erased by now."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import F, Q

from protocols.retention import Concerned, LegalHold, years_after
from protocols.values import Rules
from stock.models import (
    Batch,
    Fact,
    FactSubject,
    FactText,
    LegalHoldRow,
    Person,
    StayRow,
)
from stock.queries.batches import timed
from stock.queries.sites import rules_history

ERASED = "erased.invalid"  # where the addresses of people whose names were erased end
MOST = 200
MEDICINE = frozenset({"dose_given"})


@dataclass(frozen=True, slots=True)
class TextFound:
    """A text beside an entry: a note, or a name of somebody outside."""

    fact: UUID
    seq: int
    kind: str
    name: str
    value: str
    at: datetime


def standing_holds(site: UUID) -> list[LegalHold]:
    """The legal holds of a site that were not lifted. One query."""
    rows = LegalHoldRow.objects.filter(site=site, lifted_at=None).order_by("at", "uid")
    return [
        LegalHold(row.uid, row.at, frozenset(UUID(one) for one in row.batches)) for row in rows
    ]


def holds_shown(site: UUID, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Every legal hold there was, the newest first. Three queries."""
    rows = list(LegalHoldRow.objects.filter(site=site).order_by("-at", "uid"))
    facts = {one.uid: one for one in Fact.objects.filter(uid__in=[row.fact for row in rows])}
    named = {uid for row in rows for uid in row.batches}
    codes = {
        str(uid): code
        for uid, code in Batch.objects.filter(uid__in=named).values_list("uid", "code")
    }
    return [
        {
            "uid": str(row.uid),
            "batches": [codes.get(uid, uid) for uid in row.batches],
            **timed("at", row.at, zone),
            **timed("lifted_at", row.lifted_at, zone),
            "reason": facts[row.fact].reason,
        }
        for row in rows
    ]


def hold_row(uid: UUID) -> LegalHoldRow | None:
    return LegalHoldRow.objects.filter(uid=uid).first()


def concerned(site: UUID, facts: Iterable[UUID], at: datetime) -> list[Concerned]:
    """Whom these reports concern, and how long they are kept. Five queries.

    What names a container or a kit concerns whoever was there then.
    """
    rules = rules_history(site).at(at)
    found = {row.uid: row for row in Fact.objects.filter(uid__in=list(facts), log=site)}
    batches = _batches_of(found)
    every = {uid for those in batches.values() for uid in those}
    closed = dict(Batch.objects.filter(uid__in=every).values_list("uid", "closed_at"))
    return [
        Concerned(
            batches[uid], _kept_until(row, [closed.get(one) for one in batches[uid]], rules)
        )
        for uid, row in found.items()
    ]


def _kept_until(fact: Fact, closed: list[datetime | None], rules: Rules) -> datetime | None:
    """Years after the last of its batches was closed; of no batch, after it was performed."""
    years = rules.keep_medicine_years if fact.kind in MEDICINE else rules.keep_years
    if not closed:
        return years_after(fact.performed_at, years)
    ends = [one for one in closed if one is not None]
    return None if len(ends) < len(closed) else years_after(max(ends), years)


def _batches_of(facts: dict[UUID, Fact]) -> dict[UUID, frozenset[UUID]]:
    """The batches a report names, or that were where it says. Three queries."""
    named: dict[UUID, set[UUID]] = defaultdict(set)
    subjects = FactSubject.objects.filter(fact__in=facts).values_list("fact", "subject")
    for uid, subject in subjects:
        named[uid].add(subject)
    every = {one for those in named.values() for one in those}
    known = set(Batch.objects.filter(uid__in=every).values_list("uid", flat=True))
    stays = list(StayRow.objects.filter(Q(container__in=every) | Q(kit__in=every)))
    return {
        uid: frozenset((named[uid] & known) | _there(fact, named[uid], stays))
        for uid, fact in facts.items()
    }


def _there(fact: Fact, named: set[UUID], stays: Iterable[StayRow]) -> set[UUID]:
    return {
        one.batch_id
        for one in stays
        if (one.container_id in named or one.kit_id in named)
        and one.began_earliest <= fact.performed_at
        and (one.ended_latest is None or fact.performed_at <= one.ended_latest)
    }


def texts_with(site: UUID, word: str) -> list[TextFound]:
    """Texts of a site in which a word stands, the newest first. One query."""
    rows = FactText.objects.filter(fact__log=site, value__icontains=word)
    names = ("fact", "fact__seq", "fact__kind", "name", "value", "fact__performed_at")
    found = rows.order_by("-fact__seq", "name").values_list(*names)[:MOST]
    return [TextFound(*one) for one in found]


def could_be_erased(site: UUID, at: datetime) -> dict[str, Any]:
    """Texts that need not be kept any more, under no hold. Eight queries.

    The oldest of them, at most `MOST` at a time.
    """
    rules = rules_history(site).at(at)
    before = years_after(at, -min(rules.keep_years, rules.keep_medicine_years))
    rows = FactText.objects.filter(fact__log=site, fact__performed_at__lt=before)
    facts = list(rows.order_by("fact__seq").values_list("fact", flat=True).distinct()[:MOST])
    holds = standing_holds(site)
    over = [
        one
        for one in concerned(site, facts, at)
        if one.is_over(at) and not any(hold.covers(one.batches) for hold in holds)
    ]
    return {
        "keep_years": rules.keep_years,
        "keep_medicine_years": rules.keep_medicine_years,
        "reports_with_texts": len(over),
    }


def people_to_erase(organisation: UUID) -> list[Person]:
    """Whose account is ended and whose name is still here. One query."""
    gone = Person.objects.filter(organisation=organisation, is_active=False)
    return list(gone.exclude(email__endswith=f"@{ERASED}").order_by("name", "uid")[:MOST])


def sites_told_by(person: UUID) -> list[UUID]:
    """The record books in which somebody did or told something. One query."""
    told = Fact.objects.filter(Q(doer=person) | Q(messenger=person))
    books = told.exclude(log=F("log__organisation")).values_list("log", flat=True)
    return list(books.distinct().order_by("log"))
