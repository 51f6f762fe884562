"""Batches for lists and single pages; what a cache cannot say any more is judged anew."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from protocols.clocks import elapsed_text
from protocols.uids import uid_or_none
from protocols.values import Judgement
from stock.judging.load import judged, judged_many
from stock.models import Batch, Fact, FactSubject, Person
from stock.queries.as_of import NOW, AsOf, placed_by
from stock.queries.batches import labels_of, shown_batch, shown_stay, timed
from stock.queries.contacts import told_where_it_was
from stock.queries.seen_alive import days_unwatched, last_seen, stood

PAGE = 50


def batch_now(batch: Batch, at: datetime, then: AsOf = NOW) -> dict[str, Any]:
    """One batch, judged at a moment and as known by a ledger position."""
    judgement = judged(batch.uid, at, known_by=then.known_by)
    return {**shown_batch(batch, judgement, at, then), **_seen(batch, judgement, at, then)}


def _seen(batch: Batch, judgement: Judgement, at: datetime, then: AsOf) -> dict[str, Any]:
    """When all of them were last seen alive, and days of an observation without a round."""
    found = last_seen(batch.uid, stood(judgement), at, known_by=then.known_by)
    zone = ZoneInfo(batch.site.zone)
    return {
        "last_seen": found and {**timed("at", found.at, zone), "how": found.how},
        "days_without_round": list(days_unwatched(judgement, known_by=then.known_by)),
    }


def batch_page(
    person: Person,
    *,
    site: str | None,
    state: str | None,
    after: str | None,
    at: datetime,
    then: AsOf = NOW,
) -> dict[str, Any]:
    """Batches of the person's sites by code, a page at a time; a foreign site gives none.

    Of another moment or position those are listed that were placed and known by then, each as
    it was. A position is one of the record book of `site`.
    """
    rows = Batch.objects.filter(site__roles__person=person).distinct()
    if site is not None:
        rows = rows.filter(site=uid_or_none(site))
    if after is not None:
        rows = rows.filter(code__gt=after)
    found = list(placed_by(rows, then).select_related("site").order_by("code")[: PAGE + 1])
    page = [_row(batch, at) for batch in brought_to(found[:PAGE], at, then)]
    return {
        "batches": [row for row in page if state is None or row["state"] == state],
        "after": found[PAGE - 1].code if len(found) > PAGE else None,
    }


def brought_to(batches: list[Batch], at: datetime, then: AsOf = NOW) -> list[Batch]:
    """The rows as they are at `at`: those that are stale or overtaken, judged in memory.

    What is kept says nothing of another moment or position: then all of them are judged.
    """
    due = [
        one
        for one in batches
        if then or one.stale or (one.fresh_until and one.fresh_until <= at)
    ]
    judgements = (
        judged_many([one.uid for one in due], at, known_by=then.known_by) if due else {}
    )
    for batch in due:
        judgement = judgements[batch.uid]
        series = judgement.series
        batch.state, batch.why, batch.limit = judgement.state, judgement.why, judgement.limit
        batch.earliest_end = judgement.earliest_end
        batch.earliest_end_if_kept = judgement.earliest_end_if_kept
        if series is not None:
            batch.series_state, batch.series_number = series.state, series.number
            batch.moves, batch.moves_needed = series.moves, series.moves_needed
    return batches


def batch_history(
    batch: Batch, *, at: datetime, after: str | None, then: AsOf = NOW
) -> dict[str, Any]:
    """What was told of a batch, in the order of the record book, and its stays."""
    judgement = judged(batch.uid, at, known_by=then.known_by)
    zone = ZoneInfo(batch.site.zone)
    named = FactSubject.objects.filter(subject=batch.uid).values("fact")
    about = Q(uid__in=named) | Q(uid__in=told_where_it_was(batch.uid))
    facts = then.facts(batch.site_id).filter(about).order_by("seq")
    if after is not None and after.isdecimal():
        facts = facts.filter(seq__gt=int(after))
    entries = list(facts[: PAGE + 1])
    labels = labels_of(judgement.stays)
    return {
        "entries": [_entry(fact, zone) for fact in entries[:PAGE]],
        "after": entries[PAGE - 1].seq if len(entries) > PAGE else None,
        "stays": [shown_stay(one, labels, zone) for one in judgement.stays],
    }


def _entry(fact: Fact, zone: ZoneInfo) -> dict[str, Any]:
    gap = fact.recorded_at - fact.performed_at
    return {
        "seq": fact.seq,
        "uid": str(fact.uid),
        "kind": fact.kind,
        **timed("performed_at", fact.performed_at, zone),
        **timed("recorded_at", fact.recorded_at, zone),
        "gap_s": int(gap.total_seconds()),
        "gap_text": elapsed_text(gap),
        "doer": str(fact.doer),
        "messenger": str(fact.messenger),
        "standing": fact.standing,
        "reason": fact.reason,
        "insist": fact.insist,
        "body": fact.body,
    }


def _row(batch: Batch, at: datetime) -> dict[str, Any]:
    zone = ZoneInfo(batch.site.zone)
    left = None if batch.limit is None else batch.limit - at
    return {
        "uid": str(batch.uid),
        "site": str(batch.site_id),
        "code": batch.code,
        "protocol": batch.protocol,
        "state": batch.state,
        "why": batch.why,
        "series": {
            "number": batch.series_number,
            "state": batch.series_state,
            "moves": batch.moves,
            "moves_needed": batch.moves_needed,
            **timed("earliest_end", batch.earliest_end, zone),
        },
        **timed("limit", batch.limit, zone),
        "left_s": None if left is None else int(left.total_seconds()),
        "left_text": None if left is None else elapsed_text(left),
    }
