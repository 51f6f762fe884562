"""Kinds about the plan of the work and what was taken out of the record book."""

from collections.abc import Mapping

from protocols.kinds.kind import Kind, Rank

WORK: Mapping[str, Kind] = {
    # What one shift leaves to the next, as it stood: how much is open, which tasks are over
    # their limit or taken, which rooms are closed. What is said of it are erasable texts.
    "shift_handed_over": Kind(
        Rank.DECIDED,
        {"open": "count", "late": ["uid"], "taken": ["uid"], "closed": ["uid"]},
    ),
    "handover_read": Kind(Rank.DECIDED, {"handover": "uid"}),
    "plan_accepted": Kind(Rank.DECIDED, {"plan": "uid", "changes": ["object"]}),
    "export_made": Kind(
        Rank.DECIDED, {"range": {"from": "time", "to": "time"}, "sha256": "sha256"}
    ),
}
