"""Reports of some kinds as they were known: what was said of them later is read in."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from typing import Any, TypeVar
from uuid import UUID

from django.conf import settings
from django.db.models import Q

from protocols.accounts import NOTES, Account, Notes, noted_account
from protocols.values import Fact
from stock.judging.facts import value_of
from stock.judging.words import words_about
from stock.models import Fact as FactRow
from stock.models import FactSubject, FactText, Parked
from stock.queries.reports.form import Asked
from stock.queries.sites import rules_history
from stock.queries.told import names_in

CHUNK = 500
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Folded:
    """One report: as it is taken to say now, its note, and what became of it.

    `state` is empty where it stands as it was told; else corrected, withdrawn, or parked.
    """

    fact: Fact
    account: Account
    state: str
    note: str | None
    names: Mapping[str, str]

    @property
    def at(self) -> datetime:
        return self.account.when.latest

    @property
    def body(self) -> Mapping[str, Any]:
        return self.account.body

    def name(self, uid: object) -> str | None:
        """What people call it; None for nothing, or for what is here no longer."""
        return None if uid is None else self.names.get(str(uid))

    @property
    def doer(self) -> str | None:
        return self.name(self.fact.doer)


def folded(asked: Asked, kinds: Iterable[str], *, extra: Q | None = None) -> Iterator[Folded]:
    """What was told of these kinds within the span, in the order of its telling.

    Read some at a time, in seven queries each. A correction may have brought it into the span
    or out of it. `extra` narrows the rows.
    """
    rules = rules_history(asked.site)
    known = FactRow.objects.filter(log=asked.site, seq__lte=asked.known_by)
    moved = known.filter(kind="fact_corrected", body__field="performed_at").values("about")
    within = Q(performed_at__gte=asked.begins, performed_at__lt=asked.ends)
    rows = known.filter(within | Q(uid__in=moved), kind__in=list(kinds))
    if extra is not None:
        rows = rows.filter(extra)
    found = rows.order_by("performed_at", "seq").using(settings.REPORTS)
    for chunk in some(found.iterator(chunk_size=CHUNK), CHUNK):
        facts = [value_of(row) for row in chunk]
        uids = [one.uid for one in facts]
        notes = Notes(
            one for one in words_about(uids, known_by=asked.known_by) if one.kind in NOTES
        )
        texts = FactText.objects.filter(fact__in=uids, name="note")
        said = dict(texts.values_list("fact", "value"))
        waiting = _waiting(asked, uids)
        names = _named_in(facts)
        for fact in facts:
            late_after = timedelta(seconds=rules.at(fact.performed_at).late_confirm_after_s)
            account = noted_account(fact, notes, late_after)
            if asked.holds(account.when.earliest) or asked.holds(account.when.latest):
                state = _state(fact, notes, waiting)
                yield Folded(fact, account, state, said.get(fact.uid), names)


def about(asked: Asked) -> Q | None:
    """Narrows reports to those that name one of the batches asked about."""
    if not asked.batches:
        return None
    return Q(uid__in=FactSubject.objects.filter(subject__in=asked.batches).values("fact"))


def _waiting(asked: Asked, uids: list[UUID]) -> dict[UUID, str]:
    """Of reports that did not fit: whether somebody had settled them by then. One query."""
    settled = FactRow.objects.filter(log=asked.site, seq__lte=asked.known_by)
    rows = Parked.objects.filter(fact__in=uids)
    done = set(rows.filter(settled_by__in=settled.values("uid")).values_list("fact", flat=True))
    return {
        uid: "settled" if uid in done else "parked"
        for uid in rows.values_list("fact", flat=True)
    }


def _state(fact: Fact, notes: Notes, waiting: Mapping[UUID, str]) -> str:
    if notes.is_withdrawn(fact):
        return "withdrawn"
    if fact.uid in waiting:
        return waiting[fact.uid]
    return "corrected" if notes.of("fact_corrected", fact.uid) else ""


def _named_in(facts: Sequence[Fact]) -> dict[str, str]:
    """What people call whatever these facts name, and who told them. One query."""
    people = [str(uid) for fact in facts for uid in (fact.doer, fact.messenger)]
    return names_in([*(fact.body for fact in facts), {"people": people}])


def some(rows: Iterator[T], most: int) -> Iterator[list[T]]:
    """The same rows, so many at a time."""
    while found := list(islice(rows, most)):
        yield found
