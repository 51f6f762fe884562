"""Kinds about organisation, people, sites and what stands there."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank, of_organisation

SYSTEM_STATUSES = ("clean", "untreated", "unknown")
ROLES = ("keeper", "manager", "veterinarian", "auditor")
INSIDE: Shape = {
    "length?": "decimal",
    "width?": "decimal",
    "height?": "decimal",
    "diameter?": "decimal",
}
# A day is 0 (Monday) to 6.
WEEKLY: Shape = {"day": (0, 1, 2, 3, 4, 5, 6), "from": "wall", "to": "wall"}
EXCEPTION: Shape = {"date": "date", "from?": "wall", "to?": "wall", "why": "text"}
CONTAINER: Mapping[str, Shape] = {
    "container": "uid",
    "label": "label",
    "rack": "uid",
    "x_m": "decimal",
    "y_m": "decimal",
    "z_m": "decimal",
    "inside_m?": INSIDE,
    "shape": "word",
    "fill_mark_l": "decimal",
    "lid": "flag",
    "air_stone": "flag",
    "system?": "uid",
    "in_use": "flag",
}

PLACES: Mapping[str, Kind] = {
    "organisation_set": of_organisation({"name": "label"}),
    "person_set": of_organisation(
        {"person": "uid", "roles": [{"site?": "uid", "role": ROLES}], "ended_at?": "time"}
    ),
    "device_set": of_organisation(
        {"device": "uid", "site": "uid", "label": "label", "ended_at?": "time"}
    ),
    "site_set": Kind(Rank.SET, {"name": "label", "zone": "label"}),
    "rules_set": Kind(Rank.SET, {"in_force_from": "time", "rules": "object"}),
    "hours_set": Kind(
        Rank.SET, {"in_force_from": "time", "weekly": [WEEKLY], "exceptions": [EXCEPTION]}
    ),
    "shift_set": Kind(
        Rank.SET,
        {"shift?": "uid", "person": "uid", "from": "time", "to": "time", "on_call": "flag"},
    ),
    "room_set": Kind(
        Rank.SET, {"room": "uid", "label": "label", "light_on": "wall", "light_off": "wall"}
    ),
    "room_closed": Kind(
        Rank.SET, {"room": "uid", "from": "time", "to?": "time", "why": "text"}
    ),
    "room_opened": Kind(Rank.SET, {"room": "uid"}),
    "rack_set": Kind(
        Rank.SET,
        {"rack": "uid", "label": "label", "room": "uid", "x_m": "decimal", "y_m": "decimal"},
    ),
    "system_set": Kind(
        Rank.SET, {"system": "uid", "label": "label", "status": SYSTEM_STATUSES}
    ),
    "container_set": Kind(Rank.SET, CONTAINER),
}
