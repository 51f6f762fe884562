"""The mixing room of the demo: salt, bleach, a make that is fit for fish and one too young."""

from datetime import datetime, timedelta
from uuid import UUID

from stock.demo.floor import Floor, asking
from stock.doors.care import care_for
from stock.doors.mixing import make_water, weigh_salt
from stock.doors.things import SORTS, make_thing

HOUR = timedelta(hours=1)
LOT = {
    "label": "S-12",
    "product": "Sea salt mix",
    "dry_fraction": "0.91",
    "dry_fraction_from": "measured",
    "measured_how": "three weighed samples, salinity by T-1 and S-1",
    "in_use": True,
}
BLEACH = {
    "label": "B-3",
    "product": "Bleach without scent or soap",
    "strength_percent": "7.6",
    "strength_basis": "naocl_w/w",
    "density_g_ml": "1.10",
    "strength_from": "measured",
    "in_use": True,
}
# When it was made, how much, what was weighed.
MAKES = (("Vat 1", 26, "400", "15.05"), ("Vat 2", 3, "250", "9.40"))
DRAWN_H_AGO = 2


def fill_mixing_room(floor: Floor, now: datetime) -> None:
    """Two makes, one of which has filled a container that stands ready."""
    begin = now - 30 * 24 * HOUR
    known = {"measured_at": begin}
    made = make_thing(
        asking(floor.manager, begin),
        site=floor.site,
        sort=SORTS["salt-lots"],
        body=LOT | known,
    )
    lot = UUID(str(made.body["salt_lot"]["uid"]))
    weigh_salt(asking(floor.manager, begin), lot=lot, what="received", mass_kg="75")
    make_thing(
        asking(floor.manager, begin),
        site=floor.site,
        sort=SORTS["bleaches"],
        body=BLEACH | known,
    )
    makes = [_mix(floor, lot, *one, now=now) for one in MAKES]
    at = now - DRAWN_H_AGO * HOUR
    container = floor.free(floor.litres, at)
    litres = f"{floor.litres[container]:g}"
    care_for(
        asking(floor.keeper(), at),
        container=floor.uids[container],
        care="fillings",
        body={"make": makes[0], "volume_l": litres, "total_chlorine_mg_l": "0"},
    )


def _mix(
    floor: Floor, lot: UUID, vat: str, hours: int, litres: str, salt: str, *, now: datetime
) -> UUID:
    at = now - hours * HOUR
    body = {
        "vat": vat,
        "lot": lot,
        "salt_kg": salt,
        "volume_l": litres,
        "salinity": "33.1",
        "temperature_c": "25.4",
        "total_chlorine_mg_l": "0",
        "aerated_since": at,
    }
    made = make_water(asking(floor.keeper(), at), site=floor.site, body=body)
    return UUID(str(made.body["make"]["uid"]))
