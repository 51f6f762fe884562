"""Kinds about the mixing room: salt lots, bleach, salt that came and was counted, checks of
makes. Makes themselves and what is filled from them: `readings.py`."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank

# How a figure of a product is known: somebody measured it, its label says so, or neither.
KNOWN_FROM = ("measured", "label", "assumed")
# How a bottle says its strength; the same number by another basis is another strength.
STRENGTH_BASES = (
    "available_chlorine_w/v",
    "trade_percent",
    "available_chlorine_w/w",
    "naocl_w/w",
    "naocl_w/v",
)
SALT_LOT: Mapping[str, Shape] = {
    "salt_lot": "uid",
    "label": "label",
    "product": "text",
    "dry_fraction": "decimal",
    "dry_fraction_from": KNOWN_FROM,
    "measured_how?": "text",
    "measured_at?": "time",
    "in_use": "flag",
}
BLEACH: Mapping[str, Shape] = {
    "bleach": "uid",
    "label": "label",
    "product": "text",
    "strength_percent": "decimal",
    "strength_basis": STRENGTH_BASES,
    "density_g_ml?": "decimal",
    "strength_from": KNOWN_FROM,
    "measured_at?": "time",
    "opened_on?": "date",
    "in_use": "flag",
}
SALT: Mapping[str, Shape] = {"salt_lot": "uid", "mass_kg": "decimal"}

MIXING: Mapping[str, Kind] = {
    "salt_lot_set": Kind(Rank.SET, SALT_LOT),
    "bleach_set": Kind(Rank.SET, BLEACH),
    "salt_received": Kind(Rank.CARE, SALT),
    "salt_counted": Kind(Rank.CARE, SALT),
    # What was measured again of a make before it is used; 0 litres where it was let go.
    "make_checked": Kind(
        Rank.CARE,
        {
            "make": "uid",
            "volume_l?": "decimal",
            "salinity?": "decimal",
            "temperature_c?": "decimal",
            "total_chlorine_mg_l?": "decimal",
        },
    ),
}
