"""Which function applies which kind of fact, and the index of what a fact speaks of."""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import clocks
from protocols.values import Reason
from stock.models import Fact, FactSubject, Parked, writing_projections
from stock.refusals import refuse

DOES_NOT_FIT = refuse("contradicts_record", "The record does not allow this.")

# An applier gives what was parked and fits by the fact, if it knows of any.
Applier = Callable[[Fact], list[Fact] | None]
_appliers: dict[str, Applier] = {}


def applies(*kinds: str) -> Callable[[Applier], Applier]:
    """Register the one function that turns facts of these kinds into rows."""

    def register(function: Applier) -> Applier:
        for kind in kinds:
            if kind in _appliers:
                raise RuntimeError(f"{kind} has two appliers")
            _appliers[kind] = function
        return function

    return register


def apply(fact: Fact) -> list[Fact]:
    """Write what follows from this fact; the parked reports that fit with it.

    Deterministic: the same facts in the same order give the same rows.
    """
    with writing_projections():
        index(fact)
        return apply_indexed(fact)


def apply_indexed(fact: Fact) -> list[Fact]:
    """Write the rows of a fact that is found by its subjects already."""
    return _appliers[fact.kind](fact) or []


def park(fact: Fact, reason: Reason) -> None:
    """Keep a report that does not fit, found by its subjects, until somebody settles it."""
    with writing_projections():
        index(fact)
        Parked.objects.create(fact=fact, site_id=fact.log_id, code=reason.code, why=reason.text)


def index(fact: Fact) -> None:
    FactSubject.objects.bulk_create(
        FactSubject(fact=fact, subject=subject) for subject in subjects(fact)
    )


def subjects(fact: Fact) -> list[UUID]:
    """Every uid the fact speaks of, each once, in a fixed order."""
    found = set(_uids(fact.body))
    if fact.about is not None:
        found.add(fact.about)
    return sorted(found)


def _uids(value: Any) -> Iterator[UUID]:
    if isinstance(value, Mapping):
        for member in value.values():
            yield from _uids(member)
    elif isinstance(value, list):
        for member in value:
            yield from _uids(member)
    elif isinstance(value, str) and len(value) == 36:
        try:
            yield UUID(value)
        except ValueError:
            return


def moment(text: str) -> datetime:
    """A time of a fact's body, which is always UTC."""
    return clocks.parse_utc(text)


def known_kinds() -> frozenset[str]:
    return frozenset(_appliers)
