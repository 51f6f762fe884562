"""Rows about the mixing room."""

from tests.api.asked.places import made
from tests.api.asked.row import BEFORE, EVERYBODY, HANDS, Row

MAKE = {
    "vat": "V1",
    "lot": "{salt_lot}",
    "salt_lot": "L7",
    "salt_kg": "7.5",
    "volume_l": "200",
    "volume_basis": "final",
    "salinity": "33.0",
    "temperature_c": "25.0",
    "total_chlorine_mg_l": "0",
    "aerated_since": BEFORE,
    "mixed_at": BEFORE,
}
SALT_LOT = {
    "label": "L9",
    "product": "Sea salt",
    "dry_fraction": "0.91",
    "dry_fraction_from": "measured",
    "measured_how": "120 C for a day",
    "measured_at": BEFORE,
}
BLEACH = {
    "label": "B9",
    "product": "Bleach",
    "strength_percent": "5.25",
    "strength_basis": "naocl_w/w",
    "density_g_ml": "1.08",
    "strength_from": "measured",
    "measured_at": BEFORE,
    "opened_on": "2027-01-02",
}
CHECK = {
    "volume_l": "150",
    "salinity": "33.1",
    "temperature_c": "25.5",
    "total_chlorine_mg_l": "0",
}
MIXING = {
    **made("salt-lots", SALT_LOT),
    **made("bleaches", BLEACH),
    "GET sites/<site>/makes": Row(EVERYBODY, status=200),
    "POST sites/<site>/makes": Row(HANDS, MAKE),
    "GET sites/<site>/water-stock": Row(EVERYBODY, status=200),
    "GET sites/<site>/water-needs": Row(EVERYBODY, status=200),
    "GET makes/<uid>": Row(EVERYBODY, status=200),
    "POST makes/<uid>/checks": Row(HANDS, CHECK),
    "GET makes/<uid>/reached": Row(EVERYBODY, status=200),
    "GET batches/<uid>/makes": Row(EVERYBODY, status=200),
    "POST salt-lots/<uid>/deliveries": Row(HANDS, {"mass_kg": "25"}),
    "POST salt-lots/<uid>/stock-counts": Row(HANDS, {"mass_kg": "12.5"}),
}
