"""Words about a report: what it says before and after the newest of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols import values
from protocols.accounts import NOTES
from protocols.amended import in_force
from protocols.bodies import BodyRefused
from protocols.kinds import check_body
from protocols.values import Standing
from stock.models import Fact, FactSubject, Parked
from stock.refusals import CannotApply, not_here

# A confirmation of a correction of a report is as deep as words about words go.
DEPTH = 2
# What makes it another report: that is withdrawn and told anew.
FIXED = ("batch", "of", "dispatch", "site", "stay", "ended_stay", "from")


@dataclass(frozen=True, slots=True)
class Amended:
    """What a word changes of a report: its body before and after; None while withdrawn."""

    note: Fact
    report: Fact
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None

    def was(self, name: str) -> Any:
        return None if self.before is None else self.before.get(name)

    def now(self, name: str) -> Any:
        return None if self.after is None else self.after.get(name)

    def differs(self, name: str) -> bool:
        return bool(self.was(name) != self.now(name))

    @property
    def is_another_report(self) -> bool:
        return any(self.differs(name) for name in FIXED)


def amended(note: Fact) -> Amended | None:
    """What the note changes of the report it is about, if that says something else by it."""
    report = report_of(note)
    told = value_of(report)
    others = [one for one in words_about([report.uid]) if one.uid != note.uid]
    before = in_force(told, others)
    after = in_force(told, [*others, value_of(note)])
    if before == after:
        return None
    _has_its_form(report, after)
    return Amended(note, report, before, after)


def report_of(note: Fact) -> Fact:
    """The report that a word is about, or that the word is about which it is about."""
    found = note
    while found.kind in NOTES:
        name = "happening" if found.kind == "account_decided" else "of"
        about = Fact.objects.filter(uid=found.body[name], log=note.log_id).first()
        if about is None:
            raise not_here("fact")
        found = about
    return found


def words_about(reports: list[UUID]) -> list[values.Fact]:
    """The words about these reports, and about those, that fit the record. Few queries."""
    found: dict[UUID, Fact] = {}
    asked = set(reports)
    for _ in range(DEPTH):
        about = FactSubject.objects.filter(subject__in=asked, fact__kind__in=NOTES)
        rows = Fact.objects.filter(uid__in=about.values("fact")).exclude(
            uid__in=Parked.objects.filter(settled_by=None).values("fact")
        )
        new = {row.uid: row for row in rows if row.uid not in found}
        if not new:
            break
        found |= new
        asked = set(new)
    return [value_of(row) for row in found.values()]


def value_of(fact: Fact) -> values.Fact:
    """A fact as the pure rules read it."""
    return values.Fact(
        uid=fact.uid,
        seq=fact.seq,
        kind=fact.kind,
        performed_at=fact.performed_at,
        recorded_at=fact.recorded_at,
        doer=fact.doer,
        messenger=fact.messenger,
        body=fact.body,
        standing=Standing(fact.standing),
        device=fact.device,
        entry_no=fact.entry_no,
        raw_at=fact.raw_at,
        clock_offset_ms=fact.clock_offset_ms,
        delivered=bool(fact.delivered),
    )


def _has_its_form(report: Fact, body: Mapping[str, Any] | None) -> None:
    """A corrected report still says what its kind says."""
    if body is None:
        return
    try:
        check_body(report.kind, body)
    except BodyRefused as error:
        raise CannotApply(error.reasons[0]) from error
