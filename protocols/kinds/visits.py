"""Kinds about visits of inspectors: what they were let see, and what they were shown."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank

# Batches by their codes: the history of a batch is not about who read it. Who came, and from
# which authority, are erasable texts beside the entry.
OPENED: Mapping[str, Shape] = {
    "visit": "uid",
    "from": "time",
    "to": "time",
    "reports": ["label"],
    "batches": ["label"],
    "may_take": "flag",
    "ends": "time",
}
# `sha256` is the digest of the list of what was shown, as `protocols/visits.py` writes it.
CLOSED: Mapping[str, Shape] = {"visit": "uid", "shown": "count", "sha256": "sha256"}

VISITS: Mapping[str, Kind] = {
    "visit_opened": Kind(Rank.DECIDED, OPENED),
    "visit_closed": Kind(Rank.DECIDED, CLOSED),
}
