"""Reports that do not fit the record, and what somebody may make of them."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.accounts import Notes
from protocols.losses import DECIDERS
from protocols.ruled import Alternative, Reason
from protocols.said import said
from protocols.told import Fact, Happening
from protocols.uids import as_uid

# What a report becomes once somebody said for which batches its animals count.
SETTLED = "settled"
# Reports whose animals are gone, and where they are counted: as told, or as presumed lost.
ATTRIBUTED: Mapping[str, str | None] = {
    "loss_recorded": None,
    "missing_recorded": "presumed_lost",
}


@dataclass(frozen=True, slots=True)
class Unsettled:
    """A report as it is to be settled: what it says now, and whether it waits for that."""

    fact: Fact
    body: Mapping[str, Any]
    waits: bool
    settled: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """So many of the animals of a report count for this batch, as it is counted now."""

    batch: UUID
    label: str
    count: int
    alive: int
    placed_at: datetime
    closed: bool = False


def fate_of(kind: str, body: Mapping[str, Any]) -> str | None:
    """Where the animals of such a report are counted; None where nobody of it is gone."""
    if kind not in ATTRIBUTED:
        return None
    return ATTRIBUTED[kind] or str(body["fate"])


def may_settle(
    people: Collection[UUID], report: Unsettled, parts: Sequence[Part], *, void: bool
) -> Iterator[Reason]:
    """Whether the report may be settled so; every reason at once.

    `people` are who settles it and whose sign-in says so.
    """
    fact = report.fact
    if not fact.people.isdisjoint(people):
        text = "You told this report: somebody else has to settle it."
        yield Reason("own_action", "own_action", text, who=DECIDERS)
    if not report.waits:
        text = "It is settled already." if report.settled else "It fits the record."
        yield Reason(
            "contradicts_record",
            "not_parked",
            said("{text} Nothing is to be settled.", text=text),
        )
    if bool(parts) == void:
        text = "Say for which batches its animals count, or that it is void."
        yield Reason("unreadable", "unreadable", text, pointer="/attribution")
    elif parts:
        yield from _may_attribute(report, parts)


def _may_attribute(report: Unsettled, parts: Sequence[Part]) -> Iterator[Reason]:
    if fate_of(report.fact.kind, report.body) is None:
        text = "Only animals that are lost or missing can be counted for batches."
        yield Reason(
            "contradicts_record",
            "attributed_kind",
            text,
            instead=(Alternative("void"),),
            pointer="/attribution",
        )
        return
    told, given = report.body["count"], sum(part.count for part in parts)
    if given != told:
        text = said("{told} were reported; the parts are {given}.", told=told, given=given)
        numbers = {"reported": told, "entered": given}
        yield Reason("split_sum", "split_sum", text, numbers=numbers, pointer="/attribution")
    for n, part in enumerate(parts):
        yield from _may_count_for(
            part, report.fact, f"/attribution/{n}", twice=_twice(parts, n)
        )


def _twice(parts: Sequence[Part], n: int) -> bool:
    return any(part.batch == parts[n].batch for part in parts[:n])


def _may_count_for(part: Part, report: Fact, pointer: str, *, twice: bool) -> Iterator[Reason]:
    if twice:
        text = said("{part} stands there twice.", part=part.label)
        yield Reason("unreadable", "unreadable", text, pointer=f"{pointer}/batch")
    elif part.closed:
        text = said("Nobody of the batch is left in {part}.", part=part.label)
        yield Reason("batch_closed", "batch_closed", text, pointer=f"{pointer}/batch")
    elif part.placed_at > report.performed_at:
        text = said(
            "Those in {part} were not here yet at the time of the report.", part=part.label
        )
        yield Reason("contradicts_record", "here_by_then", text, pointer=f"{pointer}/batch")
    elif part.count > part.alive:
        text = said(
            "{part} has {alive} alive; you entered {count}.",
            part=part.label,
            alive=part.alive,
            count=part.count,
        )
        numbers = {"alive": part.alive, "entered": part.count}
        yield Reason(
            "too_few_alive", "balance", text, numbers=numbers, pointer=f"{pointer}/count"
        )


# -- How a settled report is read ------------------------------------------------------------


def settlements(facts: Iterable[Fact], notes: Notes) -> dict[UUID, Fact]:
    """The settlement of each report that somebody settled; the last of several."""
    said = [
        one for one in facts if one.kind == "parked_settled" and not notes.is_withdrawn(one)
    ]
    said.sort(key=lambda one: (one.performed_at, one.uid.int))
    return {as_uid(one.body["of"]): one for one in said}


def as_settled(report: Happening, settlement: Fact) -> Happening | None:
    """The report as it counts: so many of each batch at its own time; None where it is void."""
    parts = settlement.body.get("attribution")
    if not parts:
        return None
    body = {
        "attribution": parts,
        "fate": fate_of(report.kind, report.body),
        "settled_by": settlement.uid,
        "report": report.body,
    }
    return replace(report, kind=SETTLED, body=body, differs=False)
