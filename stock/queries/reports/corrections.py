"""Words about earlier entries: old value, new value, why, by whom; nothing is overwritten."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from stock.models import Fact, FactSubject
from stock.queries.reports.folded import CHUNK, Folded, folded, some
from stock.queries.reports.form import Asked, Cell, Report, Row, code, moment, number, text

KINDS = (
    "fact_corrected",
    "fact_withdrawn",
    "fact_contradicted",
    "confirmed",
    "account_decided",
    "deviation_decided",
    "parked_settled",
    "identity_corrected",
)


def rows(asked: Asked) -> Iterator[Row]:
    """By when it was said; beside it the entry that it speaks of."""
    for chunk in some(folded(asked, KINDS), CHUNK):
        spoken_of = _spoken_of(chunk)
        about = _about(asked, chunk) if asked.batches else None
        for one in chunk:
            if about is None or one.fact.uid in about:
                yield _row(one, spoken_of.get(_of(one)))


def _row(one: Folded, of: Fact | None) -> Row:
    body = one.body
    return (
        one.at,
        one.fact.recorded_at,
        one.fact.kind,
        of.kind if of else None,
        of.seq + 1 if of else None,
        of.performed_at if of else None,
        one.name(body.get("batch")),
        body.get("field") or body.get("rule"),
        _plain(body.get("old"), one),
        _plain(body.get("new", body.get("decision", body.get("what"))), one),
        one.fact.reason or body.get("evidence") or one.note,
        one.doer,
        one.state or None,
        one.fact.seq + 1,
    )


def _plain(value: Any, one: Folded) -> Cell:
    """A value as it is typed; what bears a name is called by it."""
    if isinstance(value, list):
        return ", ".join(str(_plain(part, one)) for part in value)
    if value is None or isinstance(value, int):
        return str(value).lower() if isinstance(value, bool) else value
    return one.name(value) or str(value)


def _of(one: Folded) -> UUID | None:
    found = one.body.get("of") or one.body.get("accepted") or one.body.get("cause")
    return UUID(str(found)) if found else None


def _spoken_of(chunk: list[Folded]) -> dict[UUID | None, Fact]:
    """The entries that these speak of. One query; the cause of a deviation may be a stay."""
    wanted = {uid for one in chunk if (uid := _of(one))}
    return {fact.uid: fact for fact in Fact.objects.filter(uid__in=wanted)}


def _about(asked: Asked, chunk: list[Folded]) -> set[UUID]:
    """Those that name one of the batches, or speak of an entry that does. One query."""
    spoken_of = {uid for one in chunk if (uid := _of(one))}
    uids = spoken_of | {one.fact.uid for one in chunk}
    rows = FactSubject.objects.filter(fact__in=uids, subject__in=asked.batches)
    found = set(rows.values_list("fact", flat=True))
    return {one.fact.uid for one in chunk if found & {one.fact.uid, _of(one)}}


CORRECTIONS = Report(
    "corrections",
    (
        *moment("at", "recorded"),
        *code("what", "of"),
        *number("of_entry"),
        *moment("of_at"),
        *text("batch"),
        *code("field"),
        *text("old", "new", "why", "by"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
