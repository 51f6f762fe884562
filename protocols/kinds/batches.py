"""Kinds about batches: where they are put, what becomes of them."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank, of_organisation

# From lines of a packing list; animals that came back are placed from their dispatch.
FROM: Shape = {"line?": "uid", "dispatch?": "uid", "count": "positive"}
# `joins`: others are in the container; a join told with it makes them one batch.
# No kit is an honest record of an emergency, so it may be absent; the rules speak of it.
PLACED: Mapping[str, Shape] = {
    "batch": "uid",
    "from": [FROM],
    "container": "uid",
    "kit?": "uid",
    "counts": ["count"],
    "protocol": "label",
    "version": "positive",
    "stay": "uid",
    "joins?": "flag",
}
# What was done around a move, as whoever made it ticked it off, one word for each step.
AROUND = ("heater_steady", "fed", "lid_on", "emptied", "pieces_to_dirty")
# `with`: who did it side by side with its doer.
MOVED: Mapping[str, Shape] = {
    "batch": "uid",
    "ended_stay": "uid",
    "stay": "uid",
    "container": "uid",
    "kit?": "uid",
    "counts": ["count"],
    "missing": "count",
    "readings": ["uid"],
    "searched?": "flag",
    "joins?": "flag",
    "carried?": {"water_ml?": "decimal", "things?": ["text"]},
    "with?": ["uid"],
    "around?": [AROUND],
}
PART: Shape = {
    "batch": "uid",
    "stay": "uid",
    "count": "positive",
    "container": "uid",
    "kit?": "uid",
    "stays_here": "flag",
}
JOINED: Mapping[str, Shape] = {
    "members": ["uid"],
    "batch": "uid",
    "stay": "uid",
    "container": "uid",
    "kit?": "uid",
    "came_in": ["uid"],
    "told_apart": "flag",
}

BATCHES: Mapping[str, Kind] = {
    # The text itself, so that the record book alone brings it back and its digest checks it.
    "protocol_frozen": of_organisation(
        {
            "protocol": "label",
            "version": "positive",
            "sha256": "sha256",
            "text?": "text",
            "made_from?": "label",
        }
    ),
    "batch_placed": Kind(Rank.PLACED, PLACED),
    "batch_moved": Kind(Rank.PLACED, MOVED),
    "batch_split": Kind(Rank.SPLIT, {"batch": "uid", "parts": [PART]}),
    "batches_joined": Kind(Rank.JOINED, JOINED),
    "course_changed": Kind(
        Rank.DECIDED, {"batch": "uid", "protocol": "label", "version": "positive"}
    ),
    "identity_corrected": Kind(
        Rank.COUNTED,
        {"batch": "uid", "count": "positive", "species": "uid", "evidence": "text"},
    ),
}
