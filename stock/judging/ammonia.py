"""Readings of ammonia with what was read and dosed around them, as NH3."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import cast
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from protocols.ammonia import (
    BINDER_SHOWS,
    FREE,
    NEAR,
    TOTAL,
    Assessed,
    Beside,
    Dosed,
    Sample,
    assess,
    binds_ammonia,
)
from protocols.order import happenings
from protocols.quantities import in_own_unit
from protocols.salinity import NoSalinity, from_specific_gravity, read_convention
from protocols.water import OutOfDomain
from protocols.water.ammonia import ReportedAs
from protocols.water.ph import PhScale
from stock.judging.facts import facts_about
from stock.judging.water import NEVER, NO_RULES
from stock.judging.words import words_about
from stock.models import WaterReading

MEASURED = (TOTAL, FREE)
# What may be called so in the readings around one of ammonia.
AROUND = {
    "ph": ("ph",),
    "temperature": ("temperature",),
    "salinity": ("salinity", "specific_gravity"),
}
Row = WaterReading


def assessed(rows: Iterable[Row]) -> list[Assessed]:
    """These readings of ammonia as NH3, by time. Two queries, and three at most for doses.

    Of each other quantity the reading nearest in time counts, of those near enough.
    """
    samples = list(rows)
    if not samples:
        return []
    beside = _beside([row.uid for row in samples])
    binders = binders_in({row.container_id for row in samples if row.quantity == TOTAL})
    return [_assess(row, beside, binders) for row in samples]


def assessed_among(
    rows: Sequence[Row], around: Sequence[Row], binders: Sequence[Dosed]
) -> list[Assessed]:
    """Readings of ammonia in one container, with everything else that was read in it."""
    dosed = {row.container_id: binders for row in rows}
    beside = {row.uid: around for row in rows}
    return [_assess(row, beside, dosed) for row in rows]


def ammonia_read(
    containers: Collection[UUID], since: datetime, at: datetime
) -> QuerySet[WaterReading]:
    """The readings of ammonia in these containers between two moments, by time."""
    return WaterReading.objects.filter(
        container__in=containers,
        quantity__in=MEASURED,
        performed_at__gte=since,
        performed_at__lte=at,
    ).order_by("performed_at", "uid")


def binders_in(containers: Collection[UUID]) -> dict[UUID, list[Dosed]]:
    """What was dosed in these containers to bind ammonia, as it is known now."""
    if not containers:
        return {}
    facts = facts_about(containers, kinds=("dose_given",), parked=False)
    told = {fact.uid: fact for found in facts.values() for fact in found}
    if not told:
        return {}
    found: dict[UUID, list[Dosed]] = {}
    for one in happenings([*told.values(), *words_about(told)], at=NEVER, rules=NO_RULES):
        body = one.body
        if binds_ammonia(body["product"], body.get("why"), body.get("binds_ammonia")):
            dosed = Dosed(body["product"], one.when.latest)
            found.setdefault(UUID(body["container"]), []).append(dosed)
    return found


def _assess(
    row: Row, beside: Mapping[UUID, Sequence[Row]], binders: Mapping[UUID, Sequence[Dosed]]
) -> Assessed:
    around = beside.get(row.uid, ())
    sample = Sample(
        uid=row.uid,
        container=row.container_id,
        quantity=row.quantity,
        value=Decimal(row.value),
        at=row.performed_at,
        reported_as=cast(ReportedAs | None, row.reported_as),
        ph=_nearest(around, "ph", row.performed_at),
        temperature=_nearest(around, "temperature", row.performed_at),
        salinity=_nearest(around, "salinity", row.performed_at),
        binders=tuple(
            one
            for one in binders.get(row.container_id, ())
            if row.performed_at - BINDER_SHOWS <= one.at <= row.performed_at
        ),
    )
    try:
        return assess(sample)
    except OutOfDomain:
        # What was read around it is such as no water has: it says nothing.
        return assess(replace(sample, ph=None, temperature=None, salinity=None))


def _beside(readings: Sequence[UUID]) -> dict[UUID, list[Row]]:
    """The nearest before and after each of these readings, of every quantity that counts."""
    sorts = [sort for found in AROUND.values() for sort in found]
    wanted = {f"{side}_{sort}": (side, sort) for sort in sorts for side in ("before", "after")}
    rows = WaterReading.objects.filter(uid__in=readings).annotate(
        **{name: _near(side, sort) for name, (side, sort) in wanted.items()}
    )
    found = {uid: set(near) - {None} for uid, *near in rows.values_list("uid", *wanted)}
    every = {uid for near in found.values() for uid in near}
    known = {
        row.uid: row
        for row in WaterReading.objects.filter(uid__in=every).select_related("instrument")
    }
    return {uid: [known[cast(UUID, one)] for one in near] for uid, near in found.items()}


def _near(side: str, quantity: str) -> Subquery:
    rows = WaterReading.objects.filter(container=OuterRef("container"), quantity=quantity)
    at = OuterRef("performed_at")
    if side == "before":
        rows = rows.filter(performed_at__lte=at).order_by("-performed_at", "-uid")
    else:
        rows = rows.filter(performed_at__gt=at).order_by("performed_at", "uid")
    return Subquery(rows.values("uid")[:1])


def _nearest(rows: Iterable[Row], name: str, at: datetime) -> Beside | None:
    """Of those within reach the nearest; of two as near the earlier, which was known then."""
    told = [
        (abs(row.performed_at - at), row.performed_at, row)
        for row in rows
        if row.quantity in AROUND[name] and abs(row.performed_at - at) <= NEAR[name]
    ]
    for _, _, row in sorted(told, key=lambda one: (one[0], one[1], one[2].uid)):
        if (value := comparable(row)) is not None:
            return Beside(
                row.uid, value, row.performed_at, cast(PhScale, row.ph_scale or "NBS")
            )
    return None


def comparable(row: Row) -> Decimal | None:
    """Its number as rules compare it: degrees Celsius, practical salinity; None without one."""
    value = Decimal(row.value)
    if row.quantity != "specific_gravity":
        found = in_own_unit(row.quantity, value, row.unit)
        return None if found is None else found[1]
    convention = row.instrument.convention if row.instrument else None
    if convention is None:
        return None
    try:
        return from_specific_gravity(value, read_convention(convention))
    except NoSalinity:
        return None
