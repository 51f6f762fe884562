"""Kinds about water and care: readings, makes of water, food, doses, rounds, contacts."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank

WAYS = ("tool", "hands", "splash", "water", "feeding", "other")
READING: Mapping[str, Shape] = {
    "container": "uid",
    "quantity": "word",
    "value": "decimal",
    "unit": "text",
    "instrument?": "uid",
    "method?": "text",
    "temperature_c?": "decimal",
    "ph_scale?": "text",
    "reported_as?": "text",
}
# Values `step_s` seconds apart from `start`; a gap ends the fact, so none is made up.
PROBE: Mapping[str, Shape] = {
    "container": "uid",
    "probe": "uid",
    "quantity": "word",
    "unit": "text",
    "start": "time",
    "step_s": "positive",
    "values": ["decimal"],
    "ph_scale?": "text",
    "reported_as?": "text",
}
MADE: Mapping[str, Shape] = {
    "make": "uid",
    "vat": "text",
    "salt_lot": "text",
    "volume_l": "decimal",
    "salinity": "decimal",
    "temperature_c": "decimal",
    "total_chlorine_mg_l": "decimal",
    # The lot that `salt_lot` is the label of, what was weighed of it, and whether `volume_l`
    # is the water before the salt went in or after.
    "lot?": "uid",
    "salt_kg?": "decimal",
    "volume_basis?": ("final", "source_water"),
    "aerated_since?": "time",
    "mixed_at?": "time",
}
FILLED: Mapping[str, Shape] = {"container": "uid", "make": "uid", "volume_l": "decimal"}
DOSE: Mapping[str, Shape] = {
    "container": "uid",
    "product": "text",
    "amount": "decimal",
    "unit": "text",
    "why?": "text",
    "binds_ammonia?": "flag",
    "lot?": "text",
    "expires?": "date",
    "prescription?": "text",
    "protocol?": "label",
    "version?": "positive",
}

READINGS: Mapping[str, Kind] = {
    "reading_taken": Kind(Rank.CARE, READING),
    "readings_taken": Kind(Rank.CARE, PROBE),
    "water_made": Kind(Rank.CARE, MADE),
    "filled": Kind(Rank.CARE, {**FILLED, "total_chlorine_mg_l?": "decimal"}),
    "water_changed": Kind(Rank.CARE, FILLED),
    "topped_up": Kind(Rank.CARE, {"container": "uid", "volume_l": "decimal", "make?": "uid"}),
    "fed": Kind(
        Rank.CARE,
        {"container": "uid", "food": "text", "amount_g?": "decimal", "eaten?": "word"},
    ),
    "dose_given": Kind(Rank.CARE, DOSE),
    "round_made": Kind(
        Rank.CARE,
        {
            "room": "uid",
            "looked_at": ["uid"],
            "exceptions": [{"container": "uid", "what": "text"}],
            # Containers whose animals ate or did not, and where not everybody was seen alive.
            "ate?": ["uid"],
            "not_eating?": ["uid"],
            "not_all_seen?": ["uid"],
        },
    ),
    "contact_seen": Kind(
        Rank.COUNTED, {"from": "uid", "to": "uid", "way": WAYS, "thing?": "uid"}
    ),
}
