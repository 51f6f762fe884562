"""What was told late: how late, why only then, and who said that it was so."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from protocols.late import LateEntry
from stock.models import FactSubject
from stock.queries.late import late_months, people_of
from stock.queries.reports.form import Asked, Report, Row, code, moment, number, span, text

AT_ONCE = timedelta(days=31)


def rows(asked: Asked) -> Iterator[Row]:
    """By when it was recorded, which is what the span asks for here; some days at a time."""
    begins = asked.begins
    while begins < asked.ends:
        ends = min(begins + AT_ONCE, asked.ends)
        yield from _within(asked, begins, ends)
        begins = ends


def _within(asked: Asked, begins: datetime, ends: datetime) -> Iterator[Row]:
    """Six queries."""
    months = late_months(asked.site, asked.zone, begins, ends, known_by=asked.known_by)
    names = people_of(months)
    entries = sorted(
        (one for month in months for one in month.entries), key=lambda one: one.fact.seq
    )
    if asked.batches:
        told = FactSubject.objects.filter(
            subject__in=asked.batches, fact__in=[one.fact.uid for one in entries]
        )
        about = set(told.values_list("fact", flat=True))
        entries = [one for one in entries if one.fact.uid in about]
    for one in entries:
        yield _row(one, {str(uid): name for uid, name in names.items()})


def _row(one: LateEntry, names: dict[str, str]) -> Row:
    fact = one.fact
    confirmed = ", ".join(names.get(str(said.by), "") for said in one.confirmed)
    return (
        fact.performed_at,
        one.told_at,
        fact.recorded_at,
        one.gap,
        fact.kind,
        one.facts,
        names.get(str(fact.doer)),
        names.get(str(fact.messenger)),
        fact.reason,
        confirmed or None,
        min((said.at for said in one.confirmed), default=None),
        _state(one),
        fact.seq + 1,
    )


def _state(one: LateEntry) -> str | None:
    if one.withdrawn:
        return "withdrawn"
    return "not_confirmed" if one.waits else None


LATE = Report(
    "late-entries",
    (
        *moment("happened", "told", "recorded"),
        *span("late_by"),
        *code("what"),
        *number("entries"),
        *text("done_by", "told_by", "why", "confirmed_by"),
        *moment("confirmed_at"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
