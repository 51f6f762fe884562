"""Traces: what is asked of the record book, and what was found, with names and buyers."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.accounts import NOTES
from protocols.order import happenings
from protocols.tracing_answer import FORWARD, Found, Question, trace
from protocols.tracing_contacts import Known, contacts
from protocols.tracing_decisions import undecided
from protocols.values import Happening
from stock.judging.facts import value_of
from stock.judging.neighbours import floor_plan
from stock.judging.upkeep import drying_rule
from stock.judging.words import WORDS
from stock.models import (
    Batch,
    Certificate,
    Dispatch,
    Fact,
    FactText,
    Make,
    Site,
    Trace,
    TraceDecision,
)
from stock.queries.sites import rules_of_sites
from stock.queries.told import named

KINDS = (
    *("container_set", "kit_set", "piece_set", "piece_fitted", "instrument_set"),
    *("list_applied", "batch_placed", "batch_moved", "batch_split", "batches_joined"),
    *("contact_seen", "disinfected", "seen_dry", "found_wet", "emptied"),
    *("filled", "water_changed", "topped_up", "reading_taken", "fed", "dose_given"),
    *("counted", "loss_recorded"),
)
MOST_LISTED = 100


def found_by(site: Site, asked: Question, known_by: int) -> tuple[tuple[Found, ...], int]:
    """The answer to a question as the record book told it at a position; of how many contacts.

    Four queries. Reads every report of the site that says where something was.
    """
    told = _told(site.uid, asked.until, known_by)
    known = Known(ZoneInfo(site.zone), drying_rule(), _near(site.uid, told, asked, known_by))
    every = contacts(told, known)
    return trace(every, asked), len(every)


def _told(site: UUID, until: datetime, known_by: int) -> Sequence[Happening]:
    kinds = {*KINDS, *NOTES, *WORDS}
    rows = Fact.objects.filter(log=site, kind__in=kinds, seq__lte=known_by, parked=None)
    rules = rules_of_sites([site], known_by=known_by)[site]
    facts = [value_of(row) for row in rows.order_by("seq").iterator(chunk_size=2000)]
    return happenings(facts, at=until, rules=rules)


def _near(
    site: UUID, told: Iterable[Happening], asked: Question, known_by: int
) -> Mapping[str, Sequence[str]]:
    """Which containers that ever held animals stand near each other, as they stood last."""
    used = {str(one.body["container"]) for one in told if one.kind.startswith("batch_moved")}
    used |= {str(one.body["container"]) for one in told if one.kind == "batch_placed"}
    used |= {
        str(part["container"])
        for one in told
        if one.kind == "batch_split"
        for part in one.body["parts"]
    }
    within_m = rules_of_sites([site], known_by=known_by)[site].at(asked.until).neighbour_m
    plan = floor_plan(site, known_by=known_by)
    found = {}
    for name in sorted(used):
        near = plan.near(UUID(name), asked.until, within_m)
        found[name] = [str(uid) for uid, _ in near if str(uid) in used]
    return found


@dataclass(frozen=True, slots=True)
class Shown:
    """A kept trace with names, and the certificates and buyers of what it reached."""

    row: Trace
    found: Sequence[Mapping[str, Any]]
    start: str
    certificates: Sequence[Mapping[str, Any]]
    dispatches: Sequence[Mapping[str, Any]]
    batches: Sequence[Mapping[str, Any]]

    def data(self) -> dict[str, Any]:
        return {
            **summary(self.row, self.start),
            "found": self.found,
            "certificates": self.certificates,
            "dispatches": self.dispatches,
            "batches": self.batches,
            "open": any(one["decision"] is None for one in self.batches),
        }


def summary(row: Trace, start: str) -> dict[str, Any]:
    return {
        "uid": str(row.uid),
        "of": {"name": row.question["of"], "label": start},
        "direction": row.question["direction"],
        "since": row.question["since"],
        "until": row.question["until"],
        "known_by": row.known_by,
        "version": row.version,
        "contacts": row.contacts,
        "digest": row.digest,
        "made_at": row.made_at,
        "made_by": str(row.made_by),
    }


def shown(row: Trace) -> Shown:
    """A kept trace, to be read. Seven queries, however much it found."""
    names = _names(row)
    batches = [UUID(one) for one in batches_of(row)]
    if row.question["direction"] == FORWARD:
        batches += [UUID(row.question["of"].partition(" ")[0])]
    decided = decisions_on([row.uid]).get(row.uid, {})
    certificates = Certificate.objects.filter(batch__in=batches).order_by("number")
    gone = list(Dispatch.objects.filter(batch__in=batches).order_by("at", "uid"))
    texts = FactText.objects.filter(fact__in=[one.fact for one in gone], name="buyer")
    buyers = dict(texts.values_list("fact", "value"))
    codes = dict(Batch.objects.filter(uid__in=batches).values_list("uid", "code"))
    return Shown(
        row,
        [_labelled(one, names) for one in row.found],
        label_of(row.question["of"], names),
        [
            {
                "uid": str(one.uid),
                "number": one.number,
                "state": one.state,
                "batch": str(one.batch_id),
                "code": codes[one.batch_id],
            }
            for one in certificates
        ],
        [
            {
                "uid": str(one.uid),
                "batch": str(one.batch_id),
                "code": codes[one.batch_id],
                "count": one.count - one.returned,
                "at": one.at,
                "buyer": buyers.get(one.fact) or (str(one.buyer) if one.buyer else None),
                "certificate": None if one.certificate is None else str(one.certificate),
                "to_site": None if one.to_site_id is None else str(one.to_site_id),
            }
            for one in gone
        ],
        [
            {"batch": one, "code": codes.get(UUID(one), ""), **_decision(decided.get(one))}
            for one in batches_of(row)
        ],
    )


def batches_of(row: Trace) -> tuple[str, ...]:
    """The batches that a trace found, the strongest first."""
    return tuple(one["name"] for one in row.found if one["kind"] == "batch")


def decisions_on(traces: Iterable[UUID]) -> dict[UUID, dict[str, TraceDecision]]:
    """The newest decision on each batch of these traces. One query."""
    found: dict[UUID, dict[str, TraceDecision]] = {}
    for row in TraceDecision.objects.filter(trace__in=list(traces)).order_by("seq"):
        found.setdefault(row.trace, {})[str(row.batch_id)] = row
    return found


def begun_traces(site: UUID) -> list[dict[str, Any]]:
    """Traces on which somebody began to decide and has not ended. Three queries."""
    begun = TraceDecision.objects.filter(batch__site=site).values("trace")
    rows = list(Trace.objects.filter(site=site, uid__in=begun).order_by("made_at", "uid"))
    decided = decisions_on(row.uid for row in rows)
    names = named({row.question["of"].partition(" ")[0] for row in rows})
    return [
        {"uid": row.uid, "label": label_of(row.question["of"], names), "left": len(left)}
        for row in rows
        if (left := undecided(batches_of(row), dict.fromkeys(decided[row.uid], "")))
    ]


def _decision(row: TraceDecision | None) -> dict[str, Any]:
    if row is None:
        return {"decision": None, "decided_at": None, "decided_by": None}
    return {"decision": row.decision, "decided_at": row.at, "decided_by": str(row.by)}


def traces_of(site: UUID) -> list[dict[str, Any]]:
    """The newest traces of a site. Two queries."""
    rows = list(Trace.objects.filter(site=site).order_by("-made_at", "-uid")[:MOST_LISTED])
    names = named({row.question["of"].partition(" ")[0] for row in rows})
    return [summary(row, label_of(row.question["of"], names)) for row in rows]


def label_of(name: str, names: Mapping[str, str]) -> str:
    """What people call a thing; of hands, whose and on which day."""
    uid, _, day = name.partition(" ")
    return f"{names.get(uid, uid[:8])} {day}".strip()


def _names(row: Trace) -> dict[str, str]:
    nodes = [one["name"] for one in row.found] + [row.question["of"]]
    nodes += [step[end]["name"] for one in row.found for step in one["way"] for end in ENDS]
    uids = {name.partition(" ")[0] for name in nodes}
    makes = Make.objects.filter(uid__in=uids).values_list("uid", "vat")
    return named(uids) | {str(uid): vat for uid, vat in makes}


ENDS = ("from", "to")


def _labelled(one: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    way = [
        {
            **step,
            **{end: {**step[end], "label": label_of(step[end]["name"], names)} for end in ENDS},
        }
        for step in one["way"]
    ]
    return {**one, "label": label_of(one["name"], names), "way": way}
