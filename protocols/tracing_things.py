"""What sort of thing each name is, and from when on it was clean again, as the record tells."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from protocols.disinfecting import disinfection_faults
from protocols.readiness import denied
from protocols.ruled import DryingRule
from protocols.told import Happening

CLEANING = frozenset({"disinfected", "seen_dry", "found_wet"})


def kinds_of(told: Iterable[Happening]) -> dict[str, str]:
    """What sort of thing each name is, by the report that made it."""
    found: dict[str, str] = {}
    for one in told:
        if one.kind.endswith("_set"):
            kind = one.kind.removesuffix("_set")
            if kind in one.body:
                found[str(one.body[kind])] = kind
        elif one.kind in ("batch_placed", "batches_joined"):
            found[str(one.body["batch"])] = "batch"
        elif one.kind == "batch_split":
            found |= {str(part["batch"]): "batch" for part in one.body["parts"]}
    return found


def cuts(told: Iterable[Happening], drying: DryingRule) -> dict[str, list[datetime]]:
    """From when on each thing was clean again: the first sighting after a good disinfection."""
    by_thing: dict[str, list[Happening]] = defaultdict(list)
    for one in told:
        if one.kind in CLEANING:
            for subject in one.body["subjects"]:
                by_thing[str(subject)].append(one)
    found: dict[str, list[datetime]] = {}
    for name, steps in by_thing.items():
        wrong, clean = denied(steps), False
        for one in steps:
            if one.kind == "disinfected":
                clean = not disinfection_faults(one.body, drying)
            elif one.kind == "seen_dry" and clean and one.uid not in wrong:
                found.setdefault(name, []).append(one.when.latest)
                clean = False
    return found
