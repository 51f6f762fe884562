"""Kinds about equipment: pieces, kits, instruments, and what makes them ready."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import SUBJECTS, Kind, Rank

PIECE_TYPES = (
    "heater",
    "thermometer",
    "shelter",
    "air_line",
    "air_stone",
    "lid",
    "transfer_cup",
    "net",
    "pump",
    "other",
)
PIECE: Mapping[str, Shape] = {
    "piece": "uid",
    "label": "label",
    "type": PIECE_TYPES,
    "single_use": "flag",
}
INSTRUMENT: Mapping[str, Shape] = {
    "instrument": "uid",
    "label": "label",
    "quantities": ["word"],
    "convention?": "text",
}
CHECK: Mapping[str, Shape] = {
    "instrument": "uid",
    "quantity?": "word",
    "standard": "text",
    "expected": "decimal",
    "got": "decimal",
    "passed": "flag",
}
DISINFECTED: Mapping[str, Shape] = {
    **SUBJECTS,
    "cleaned": "flag",
    "agent": "text",
    "mg_per_l?": "decimal",
    "measured": "flag",
    "started_at": "time",
    "ended_at": "time",
    "rinsed": "flag",
    "neutralised?": "flag",
}

KITS: Mapping[str, Kind] = {
    "piece_set": Kind(Rank.SET, PIECE),
    "kit_set": Kind(Rank.SET, {"kit": "uid", "label": "label", "needs": [PIECE_TYPES]}),
    "piece_fitted": Kind(
        Rank.SET, {"piece": "uid", "kit?": "uid", "container?": "uid", "replaces?": "uid"}
    ),
    "piece_defective": Kind(Rank.SET, {"piece": "uid", "what": "text"}),
    "instrument_set": Kind(Rank.SET, INSTRUMENT),
    "instrument_checked": Kind(Rank.CHECKED, CHECK),
    "disinfected": Kind(Rank.CLEANED, DISINFECTED),
    "emptied": Kind(Rank.CLEANED, {"container": "uid", "searched": "flag"}),
    "seen_dry": Kind(Rank.DRY, SUBJECTS),
    "found_wet": Kind(Rank.DRY, {**SUBJECTS, "contradicts?": "uid"}),
}
