"""Kinds about how many there are: counts, losses, the missing and the found."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import OF, Kind, Rank

FATES = ("dead", "culled", "escaped", "sampled")
# `cause` has two levels, the broader first; `origin` names the lines it may have come from.
LOSS: Mapping[str, Shape] = {
    "batch": "uid",
    "fate": FATES,
    "count": "positive",
    "cause": ["text"],
    "certainty?": "word",
    "found_at": "time",
    "last_seen_at?": "time",
    "origin?": ["uid"],
    "incident?": "uid",
    "method?": "text",
    "authority?": "text",
}
FOUND: Mapping[str, Shape] = {
    **OF,
    "batch?": "uid",
    "stay?": "uid",
    "count": "positive",
    "container": "uid",
    "alive": "flag",
}
SETTLED: Mapping[str, Shape] = {
    **OF,
    "attribution?": [{"batch": "uid", "count": "positive"}],
    "void?": "flag",
}

COUNTS: Mapping[str, Kind] = {
    "counted": Kind(Rank.COUNTED, {"batch": "uid", "counts": ["count"]}),
    "loss_recorded": Kind(Rank.COUNTED, LOSS),
    "missing_recorded": Kind(
        Rank.COUNTED, {"batch": "uid", "count": "positive", "container": "uid"}
    ),
    "found_again": Kind(Rank.COUNTED, FOUND),
    "presumed_lost": Kind(Rank.COUNTED, {**OF, "count": "positive"}),
    "born_here": Kind(Rank.COUNTED, {"batch": "uid", "count": "positive", "estimated": "flag"}),
    "doa_reversed": Kind(
        Rank.COUNTED, {"line": "uid", "count": "positive", "evidence": "text"}
    ),
    "parked_settled": Kind(Rank.DECIDED, SETTLED),
}
