"""The water of some containers as far as work follows from it: what was read last, and when."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import OuterRef, Subquery

from protocols.quantities import in_own_unit
from protocols.values import Reading
from stock.models import Container, WaterReading

# What shows whether water kills, and what a reading of salinity may be called.
TESTS = ("total_ammonia", "free_ammonia", "nitrite", "oxygen", "oxygen_saturation")
SALINITY = ("salinity", "specific_gravity", "conductivity")
QUANTITIES = ("temperature", "ph", *SALINITY, *TESTS)


@dataclass(frozen=True, slots=True)
class KnownWater:
    """The newest reading of each quantity in one container."""

    newest: Mapping[str, WaterReading]

    @property
    def tested_at(self) -> datetime | None:
        return self._latest(TESTS)

    @property
    def measured_at(self) -> datetime | None:
        """When both salinity and temperature were known last."""
        both = (self._latest(SALINITY), self._latest(("temperature",)))
        return min(one for one in both if one) if all(both) else None

    def since(self, moment: datetime) -> list[Reading]:
        """The newest readings from `moment` on, as rules compare them."""
        rows = [row for row in self.newest.values() if row.performed_at >= moment]
        return [found for row in rows if (found := _reading(row)) is not None]

    def _latest(self, quantities: Collection[str]) -> datetime | None:
        times = [self.newest[one].performed_at for one in quantities if one in self.newest]
        return max(times, default=None)


def water_known(containers: Collection[UUID], at: datetime) -> dict[UUID, KnownWater]:
    """What was read last in these containers up to `at`. Two queries.

    The newest is looked up for each quantity: a probe leaves thousands of others.
    """
    if not containers:
        return {}
    found = Container.objects.filter(uid__in=containers).annotate(
        **{f"newest_{one}": _newest(one, at) for one in QUANTITIES}
    )
    names = [f"newest_{one}" for one in QUANTITIES]
    uids = {uid for row in found.values_list(*names) for uid in row if uid is not None}
    newest: dict[UUID, dict[str, WaterReading]] = {uid: {} for uid in containers}
    for row in WaterReading.objects.filter(uid__in=uids).select_related("instrument"):
        newest[row.container_id][row.quantity] = row
    return {uid: KnownWater(rows) for uid, rows in newest.items()}


def _newest(quantity: str, at: datetime) -> Subquery:
    rows = WaterReading.objects.filter(
        container=OuterRef("uid"), quantity=quantity, performed_at__lte=at
    )
    return Subquery(rows.order_by("-performed_at", "-uid").values("uid")[:1])


def _reading(row: WaterReading) -> Reading | None:
    told = in_own_unit(row.quantity, Decimal(row.value), row.unit)
    if told is None:
        return None
    return Reading(row.uid, row.container_id, told[0], told[1], row.performed_at)
