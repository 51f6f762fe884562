"""What one fact says after corrections, confirmations and withdrawals of it are read in."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.clocks import corrected
from protocols.told import Fact, When
from protocols.uids import as_uid

# Facts about facts: they are folded into what they are about, whenever they were made.
NOTES = frozenset(
    {"fact_corrected", "fact_withdrawn", "fact_contradicted", "confirmed", "account_decided"}
)


@dataclass(frozen=True, slots=True)
class Account:
    """One person's account of a happening, as it stands now."""

    fact: Fact
    when: When
    told: When
    body: Mapping[str, Any]
    late: bool = False
    confirmed_by: tuple[UUID, ...] = ()
    confirmed_at: datetime | None = None
    unclear: tuple[str, ...] = ()
    contradicted: bool = False


def is_second_person(said: Fact, of: Fact) -> bool:
    """Whether neither who says it nor whose sign-in delivered it had to do with `of`."""
    return of.people.isdisjoint((said.doer, said.messenger))


def stamp(fact: Fact) -> datetime:
    """When the entry was made: the device's own stamp put right where its clock was measured.

    So a late delivery is not a late entry, and the order of delivery changes nothing. Of an
    entry that another delivered, its doer says nothing here: it is known since it came.
    """
    if fact.delivered:
        return fact.recorded_at
    if fact.raw_at is not None and fact.clock_offset_ms is not None:
        return corrected(fact.raw_at, fact.clock_offset_ms)
    return fact.recorded_at


class Notes:
    """Facts about facts, found by what they are about."""

    def __init__(self, facts: Iterable[Fact]) -> None:
        self._by: dict[tuple[str, UUID], list[Fact]] = defaultdict(list)
        self.about: set[UUID] = set()
        for fact in facts:
            of = as_uid(fact.body["happening" if fact.kind == "account_decided" else "of"])
            self.about.add(of)
            self._by[fact.kind, of].append(fact)
        for notes in self._by.values():
            notes.sort(key=_order)

    def of(self, kind: str, target: UUID) -> list[Fact]:
        """The notes of one kind about `target` that stand, by when they were made."""
        return [one for one in self._by.get((kind, target), ()) if not self.is_withdrawn(one)]

    def is_withdrawn(self, fact: Fact, seen: frozenset[UUID] = frozenset()) -> bool:
        """Whether a second person took it back, or agreed that it was taken back."""
        if fact.uid not in self.about or fact.uid in seen:
            return False
        seen |= {fact.uid}
        return any(
            not self.is_withdrawn(one, seen)
            and (is_second_person(one, fact) or self._is_agreed(one, seen))
            for one in self._by.get(("fact_withdrawn", fact.uid), ())
        )

    def _is_agreed(self, fact: Fact, seen: frozenset[UUID]) -> bool:
        return any(
            is_second_person(one, fact) and not self.is_withdrawn(one, seen)
            for one in self._by.get(("confirmed", fact.uid), ())
        )

    def confirmations(self, fact: Fact) -> list[Fact]:
        """Confirmations by second persons."""
        return [one for one in self.of("confirmed", fact.uid) if is_second_person(one, fact)]

    def confirms_correction(self, correction: Fact, of: UUID) -> bool:
        """Whether a second person confirmed the correction, or the fact after it was made."""
        if self.confirmations(correction):
            return True
        return any(
            is_second_person(one, correction) and _order(one) > _order(correction)
            for one in self.of("confirmed", of)
        )


def plain_account(fact: Fact, late_after: timedelta) -> Account:
    """The account of a fact that nobody made a note about."""
    told = When.exactly(fact.performed_at)
    made = stamp(fact)
    late = fact.delivered or made - fact.performed_at > late_after
    unmeasured = fact.raw_at is not None and fact.clock_offset_ms is None
    if not (late or unmeasured) or made <= fact.performed_at:
        return Account(fact, told, told, fact.body)
    return Account(fact, When(fact.performed_at, made), told, fact.body, late)


def noted_account(fact: Fact, notes: Notes, late_after: timedelta) -> Account:
    """The account of a fact with its notes read in.

    A correction widens the time, or makes a field unclear, until a second person confirms.
    """
    plain = plain_account(fact, late_after)
    confirmed = notes.confirmations(fact)
    first = plain.told if confirmed else plain.when
    when, body, unclear = _corrected(fact, first, notes)
    return Account(
        fact=fact,
        when=when,
        told=plain.told,
        body=body,
        late=plain.late and not confirmed and when.latest == plain.when.latest,
        confirmed_by=tuple(dict.fromkeys(one.doer for one in confirmed)),
        confirmed_at=min((one.performed_at for one in confirmed), default=None),
        unclear=unclear,
        contradicted=any(
            is_second_person(one, fact) for one in notes.of("fact_contradicted", fact.uid)
        ),
    )


def _corrected(
    fact: Fact, first: When, notes: Notes
) -> tuple[When, Mapping[str, Any], tuple[str, ...]]:
    when, body = first, fact.body
    unclear: dict[str, bool] = {}
    for one in notes.of("fact_corrected", fact.uid):
        sure = notes.confirms_correction(one, fact.uid)
        field = str(one.body["field"]).strip("/")
        if field == "performed_at":
            new = _moment(one.body.get("new"))
            when = when if new is None else new if sure else when.hull(new)
        else:
            body = _put(body, field.split("/"), one.body.get("new"))
            unclear[field.split("/")[0]] = not sure
    return when, body, tuple(sorted(field for field, open_ in unclear.items() if open_))


def _moment(text: Any) -> When | None:
    """The moment a correction names; None where it names none, which corrects nothing."""
    try:
        moment = datetime.fromisoformat(str(text))
        return When.exactly(moment)
    except ValueError:
        return None


def _put(value: Any, path: list[str], new: Any) -> Any:
    """A copy of a body with another value at `path`; a path that leads nowhere is left."""
    name, rest = path[0], path[1:]
    if isinstance(value, Mapping):
        inner = _put(value.get(name), rest, new) if rest else new
        return {**value, name: inner}
    if isinstance(value, list | tuple) and name.isdecimal() and int(name) < len(value):
        place = int(name)
        inner = _put(value[place], rest, new) if rest else new
        return [*value[:place], inner, *value[place + 1 :]]
    return value


def _order(fact: Fact) -> tuple[datetime, int]:
    return fact.performed_at, fact.uid.int
