"""Readings as numbers that clocks count by: what is in doubt counts for nothing."""

from collections.abc import Collection
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from protocols.quantities import in_own_unit
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.values import Reading
from stock.models import WaterReading

# What may be typed instead of a quantity.
AS_WELL = {"salinity": ("salinity", "specific_gravity")}


def numbers_of(
    containers: Collection[UUID], quantity: str, *, begins: datetime, at: datetime
) -> dict[UUID, list[Reading]]:
    """The readings of a quantity in each container from `begins` to `at`, by time. One query.

    Temperature in degrees Celsius, practical salinity, the rest as it was typed.
    """
    rows = WaterReading.objects.filter(
        container__in=containers,
        quantity__in=AS_WELL.get(quantity, (quantity,)),
        performed_at__gte=begins,
        performed_at__lte=at,
        in_doubt=False,
    )
    found: dict[UUID, list[Reading]] = {uid: [] for uid in containers}
    for row in rows.select_related("instrument").order_by("performed_at", "uid"):
        if (value := _number(row)) is not None:
            one = Reading(row.uid, row.container_id, quantity, value, row.performed_at)
            found[row.container_id].append(one)
    return found


def _number(row: WaterReading) -> Decimal | None:
    if row.quantity != "specific_gravity":
        told = in_own_unit(row.quantity, Decimal(row.value), row.unit)
        return told[1] if told else None
    convention = row.instrument.convention if row.instrument else None
    if not convention:
        return None
    try:
        return from_specific_gravity(Decimal(row.value), read_convention(convention))
    except NoSalinity:
        return None
