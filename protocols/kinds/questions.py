"""Kinds about what is in question: signs, incidents, corrections, decisions, holds."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import OF, Kind, Rank
from protocols.tracing_decisions import DECISIONS as TRACE_DECISIONS

INCIDENT: Mapping[str, Shape] = {
    "container?": "uid",
    "batch?": "uid",
    "kind": "word",
    "what": "object",
}
# `field` is a pointer into the body, or `performed_at`; absent `old` or `new`: no such value.
CORRECTED: Mapping[str, Shape] = {**OF, "field": "text", "old?": "any", "new?": "any"}
DECISIONS = ("keep", "restart", "void")
DECIDED: Mapping[str, Shape] = {
    "batch": "uid",
    "rule": "word",
    "cause": "uid",
    "known": "object",
    "decision": DECISIONS,
    "from?": ("this_stay",),
}
# `digest` is that of the trace as it was found: what the decision rests on.
TRACED: Mapping[str, Shape] = {
    "trace": "uid",
    "digest": "sha256",
    "batch": "uid",
    "decision": TRACE_DECISIONS,
}
RESTRICTION: Mapping[str, Shape] = {
    "scope": "object",
    "authority": "text",
    "number?": "text",
    "what": "text",
}

QUESTIONS: Mapping[str, Kind] = {
    "sign_seen": Kind(Rank.COUNTED, {"batch": "uid", "signs": ["text"], "affected": "count"}),
    "incident_recorded": Kind(Rank.COUNTED, INCIDENT),
    "fact_corrected": Kind(Rank.DECIDED, CORRECTED),
    "fact_withdrawn": Kind(Rank.DECIDED, OF),
    "fact_contradicted": Kind(Rank.DECIDED, {**OF, "what": "text"}),
    "confirmed": Kind(Rank.DECIDED, {**OF, "outside?": "flag"}),
    "account_decided": Kind(Rank.DECIDED, {"happening": "uid", "accepted": "uid"}),
    "deviation_decided": Kind(Rank.DECIDED, DECIDED),
    "hold_placed": Kind(Rank.DECIDED, {"batch": "uid", "why": "text"}),
    "hold_lifted": Kind(Rank.DECIDED, {"hold": "uid"}),
    "restriction_set": Kind(Rank.DECIDED, RESTRICTION),
    "restriction_ended": Kind(Rank.DECIDED, {"restriction": "uid"}),
    "trace_decided": Kind(Rank.DECIDED, TRACED),
}
