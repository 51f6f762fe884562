"""Kinds about the plan of the work and what was taken out of the record book."""

from collections.abc import Mapping

from protocols.kinds.kind import Kind, Rank

WORK: Mapping[str, Kind] = {
    "plan_accepted": Kind(Rank.DECIDED, {"plan": "uid", "changes": ["object"]}),
    "export_made": Kind(
        Rank.DECIDED, {"range": {"from": "time", "to": "time"}, "sha256": "sha256"}
    ),
}
