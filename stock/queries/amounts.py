"""What amounts follow from: the salt and bleach in use, and the water of a container."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.db.models import CharField, F, OuterRef, Subquery, Value

from protocols.makes import shown
from protocols.mixing import (
    SALINITY_PLANNED,
    TEMPERATURE_PLANNED_C,
    Strength,
)
from protocols.quantities import FAHRENHEIT
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.slip_amounts import (
    BathAmount,
    BleachUsed,
    FillAmount,
    Products,
    SaltUsed,
    bath_amount,
    fill_amount,
    weighed,
)
from protocols.tasks import What, Work
from protocols.versions import DEFAULT, protocol
from protocols.water_needs import Water
from stock.models import Bleach, Container, SaltLot, StayRow, WaterReading

PLANNED = Water(SALINITY_PLANNED, TEMPERATURE_PLANNED_C)
SALTY = ("salinity", "specific_gravity")
NOTHING: Value = Value(None, output_field=CharField())


def products_in_use(site: UUID) -> Products:
    """One query for both."""
    salt = SaltLot.objects.filter(site=site, in_use=True).values_list(
        Value("salt", output_field=CharField()),
        "version",
        "label",
        "dry_fraction",
        "dry_fraction_from",
        NOTHING,
        NOTHING,
    )
    bleach = Bleach.objects.filter(site=site, in_use=True).values_list(
        Value("bleach", output_field=CharField()),
        "version",
        "label",
        "strength_percent",
        "strength_from",
        "strength_basis",
        "density_g_ml",
    )
    newest: dict[str, tuple[Any, ...]] = {}
    for row in sorted(salt.union(bleach, all=True), key=lambda row: row[1]):
        newest[row[0]] = row
    return Products(_salt(newest.get("salt")), _bleach(newest.get("bleach")))


def _salt(row: tuple[Any, ...] | None) -> SaltUsed:
    if row is None:
        return SaltUsed()
    return SaltUsed(Decimal(row[3]), row[2], row[4])


def _bleach(row: tuple[Any, ...] | None) -> BleachUsed | None:
    if row is None:
        return None
    density = Decimal(row[6]) if row[6] else None
    return BleachUsed(row[2], Strength(Decimal(row[3]), row[5], density, row[4]))


# -- The water that is to be matched ---------------------------------------------------------


def newest_water(at: datetime | None, container: str = "uid") -> dict[str, Subquery]:
    """Columns for a query of containers: what was read in each last, as typed.

    `container` is the column that names it; `at` None: whenever. Read back by `water_of`.
    """
    readings = WaterReading.objects.filter(container=OuterRef(container))
    if at is not None:
        readings = readings.filter(performed_at__lte=at)
    readings = readings.order_by("-performed_at", "uid")
    columns = {}
    for name, quantities in (
        ("read_salinity", SALTY),
        ("read_temperature", ("temperature",)),
    ):
        newest = readings.filter(quantity__in=quantities)
        for part in ("value", "unit", "quantity"):
            columns[f"{name}_{part}"] = Subquery(newest.values(part)[:1])
    newest = readings.filter(quantity__in=SALTY)
    convention = newest.annotate(said=F("instrument__convention")).values("said")[:1]
    columns["read_convention"] = Subquery(convention)
    return columns


def water_of(row: Any) -> Water:
    """The water of a container as it was read last; what was not read is as planned."""
    salinity, warmth = _salinity(row), _warmth(row)
    return Water(
        SALINITY_PLANNED if salinity is None else salinity,
        TEMPERATURE_PLANNED_C if warmth is None else warmth,
        read=salinity is not None,
    )


def _salinity(row: Any) -> Decimal | None:
    value = _decimal(row.read_salinity_value)
    if value is None or row.read_salinity_quantity == "salinity":
        return value
    if row.read_convention is None:
        return None
    try:
        return from_specific_gravity(value, read_convention(row.read_convention))
    except NoSalinity:
        return None


def _warmth(row: Any) -> Decimal | None:
    value = _decimal(row.read_temperature_value)
    if value is None or row.read_temperature_unit != FAHRENHEIT:
        return value
    return (value - 32) * 5 / 9


def _decimal(text: str | None) -> Decimal | None:
    try:
        return None if text is None else Decimal(text)
    except InvalidOperation:
        return None


# -- What a slip says ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mark:
    """How much a container holds to its mark, and its water as it was read last."""

    litres: Decimal
    water: Water


def marks_of(containers: Iterable[Any]) -> dict[UUID, Mark]:
    """Of containers that were read with the columns of `newest_water`."""
    return {row.uid: Mark(Decimal(row.fill_mark_l), water_of(row)) for row in containers}


def amount_of(
    work: Work, own: UUID | None, marks: Mapping[UUID, Mark], products: Products
) -> FillAmount | BathAmount | None:
    """Water and salt for a coming move, or a bath; None for other work.

    `own` is where the animals are: that water is matched, and a container that nobody knows
    yet is as large.
    """
    there = marks.get(work.container) if work.container else None
    if work.what is What.DISINFECT:
        if there is None or products.bleach is None:
            return None
        return bath_amount(there.litres, products.bleach, protocol(DEFAULT).drying)
    here = marks.get(own) if own else None
    if work.what is not What.PREPARE or here is None:
        return None
    litres = there.litres if there else here.litres
    return fill_amount(litres, here.water, products.salt)


def fill_like(stay: Any, site: UUID) -> FillAmount | None:
    """What a container takes that is as large as that of a stay, filled to match its water.

    The stay was read with the columns of `newest_water`. One query.
    """
    litres = Decimal(stay.container.fill_mark_l)
    return fill_amount(litres, water_of(stay), products_in_use(site).salt)


def amounts_at(site: UUID, works: Sequence[Work], at: datetime) -> dict[str, dict[str, Any]]:
    """What the slips of these works say of amounts, by their keys. Three queries at most."""
    asked = [one for one in works if one.what in (What.PREPARE, What.DISINFECT)]
    if not asked:
        return {}
    stays = StayRow.objects.filter(
        batch__in={one.batch for one in asked if one.batch}, ended_latest=None
    )
    own = dict(stays.values_list("batch", "container"))
    containers = Container.objects.filter(site=site).annotate(**newest_water(at))
    marks, products = marks_of(containers), products_in_use(site)
    found = {}
    for one in asked:
        amount = amount_of(one, own.get(one.batch) if one.batch else None, marks, products)
        if amount is not None:
            found[one.key] = shown_amount(amount)
    return found


def shown_amount(amount: FillAmount | BathAmount) -> dict[str, Any]:
    """The amounts of a slip for programs, numbers with a fraction as text."""
    if isinstance(amount, FillAmount):
        return {
            "litres": shown(amount.litres),
            "salt_kg": weighed(amount.salt_kg),
            "salinity": shown(amount.water.salinity),
            "salinity_read": amount.water.read,
            "salt_lot": amount.salt.label or None,
            "dry_fraction": shown(amount.salt.dry_fraction),
            "dry_fraction_from": amount.salt.known_from,
            "text": amount.text,
        }
    one = amount.bath
    return {
        "litres": shown(one.volume_l),
        "mg_per_l": shown(one.target_mg_l),
        "bleach": amount.bleach.label,
        "bleach_ml": weighed(one.bleach_ml),
        "strength_from": amount.bleach.strength.known_from,
        "thiosulfate_g": weighed(one.thiosulfate_g),
        "contact_s": int(one.contact.total_seconds()),
        "text": amount.text,
    }
