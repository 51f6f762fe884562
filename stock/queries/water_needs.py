"""What the coming moves need of water and salt, day by day, and the baths to be made.

Ten queries beside those for makes and salt, however many batches there are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Sum

from protocols.makes import shown
from protocols.mixing import TEMPERATURE_PLANNED_C
from protocols.moves_ahead import SeriesSoFar
from protocols.reconciling import OPEN_STATES
from protocols.slip_amounts import BathAmount, Products, weighed
from protocols.tasks import What, Work
from protocols.values import SeriesState
from protocols.versions import Versions
from protocols.water_needs import (
    BatchAhead,
    Day,
    Needs,
    Stock,
    Water,
    fills_ahead,
    needs,
)
from protocols.work_moves import PREPARE_AHEAD, supplied
from stock.judging.task_rows import work_of
from stock.judging.work_equipment import equipment_known
from stock.models import Container, Draw, StayRow, Task
from stock.queries.amounts import (
    PLANNED,
    Mark,
    amount_of,
    marks_of,
    newest_water,
    products_in_use,
    shown_amount,
)
from stock.queries.mixing import LotSeen, MakeSeen
from stock.queries.protocols import versions_at
from stock.queries.shared_water import filled_now
from stock.queries.sites import hours_history, rules_history

WEEK_DAYS = 7
DAYS = 7
WORK = (What.PREPARE.value, What.CALL_OUT.value, What.DISINFECT.value)


@dataclass(frozen=True, slots=True)
class BathToMake:
    """Something to be disinfected, and its bath; None where no bleach is known."""

    what: str
    amount: BathAmount | None


@dataclass(frozen=True, slots=True)
class NeedsSeen:
    """The days ahead, the baths to be made, and the products that they are reckoned with."""

    needs: Needs
    baths: tuple[BathToMake, ...]
    products: Products


def needs_seen(
    site: UUID,
    at: datetime,
    zone: ZoneInfo,
    *,
    makes: Sequence[MakeSeen],
    lots: Sequence[LotSeen],
    days: int = DAYS,
) -> NeedsSeen:
    """What is needed from `at` on, against these makes and lots."""
    containers = Container.objects.filter(site=site).annotate(**newest_water(at))
    rows = list(containers)
    marks, labels = marks_of(rows), {row.uid: row.label for row in rows}
    products = products_in_use(site)
    works = _works(site, at)
    batches = _batches(site, at, works, marks, labels)
    fills = fills_ahead(batches, hours_history(site), zone, until=at + timedelta(days=days))
    left = {one.row.label: one.left_kg for one in lots}
    stock = Stock(
        makes=tuple(one.standing for one in makes if _is_clean(one)),
        salt_kg=left.get(products.salt.label),
        dry_fraction=products.salt.dry_fraction,
        mixed_least=timedelta(seconds=rules_history(site).at(at).mixed_least_s),
    )
    found = needs(
        fills,
        stock,
        at=at,
        zone=zone,
        days=days,
        changes_l=_changes(site, at),
        planned=_planned(makes),
    )
    return NeedsSeen(found, _baths(works, marks, labels, products), products)


def _is_clean(one: MakeSeen) -> bool:
    return all(reason.rule != "chlorine_left" for reason in one.fit)


def _planned(makes: Sequence[MakeSeen]) -> Water:
    """As the newest make, where nobody has read the water that is to be matched."""
    if not makes:
        return PLANNED
    return Water(makes[0].standing.salinity, TEMPERATURE_PLANNED_C)


def _works(site: UUID, at: datetime) -> tuple[Work, ...]:
    rows = Task.objects.filter(
        site=site, what__in=WORK, state__in=[one.value for one in OPEN_STATES]
    )
    return supplied((work_of(row) for row in rows), equipment_known(site, at), at)


def _batches(
    site: UUID,
    at: datetime,
    works: Sequence[Work],
    marks: Mapping[UUID, Mark],
    labels: Mapping[UUID, str],
) -> list[BatchAhead]:
    """Every batch that a container is prepared for. Three queries."""
    prepared = {one.batch: one for one in works if one.what is What.PREPARE}
    stays = StayRow.objects.filter(
        batch__in=[uid for uid in prepared if uid], ended_latest=None
    ).select_related("batch")
    filled = filled_now([one.container for one in works if one.container], at)
    versions = versions_at(site, (one.batch.protocol for one in stays))
    found = []
    for stay in stays:
        work, own = prepared[stay.batch_id], marks[stay.container_id]
        target = marks.get(work.container) if work.container else None
        found.append(
            BatchAhead(
                batch=stay.batch_id,
                code=stay.batch.code,
                water=own.water,
                own_l=own.litres,
                first_at=_first_at(work, at),
                target_l=target.litres if target else None,
                filled=work.container in filled,
                target=labels[work.container] if target and work.container else "",
                series=_series(stay, versions),
            )
        )
    return found


def _first_at(work: Work, at: datetime) -> datetime:
    """When it is filled; at once where nothing counts before the next clean placement."""
    if work.planned is not None:
        return work.planned
    return at if work.limit is None else work.limit - PREPARE_AHEAD


def _series(stay: StayRow, versions: Versions) -> SeriesSoFar | None:
    """The series as far as it can be planned; None while it is open what counts."""
    batch = stay.batch
    if batch.limit is None or batch.earliest_end is None:
        return None
    if batch.series_state != SeriesState.UNBROKEN:
        return None
    version = versions.of(batch.protocol)
    return SeriesSoFar(
        earliest_end=batch.earliest_end,
        moves=batch.moves,
        placed=stay.began_earliest,
        limit=batch.limit,
        stay_limit=version.stay_limit,
        moves_least=version.moves_least,
    )


def _changes(site: UUID, at: datetime) -> Decimal:
    """Litres a day that water changes took in the last week: so much is planned. One query."""
    rows = Draw.objects.filter(
        container__site=site,
        what="water_changed",
        at__gt=at - timedelta(days=WEEK_DAYS),
        at__lte=at,
    )
    total: Decimal = rows.aggregate(litres=Sum("volume_l"))["litres"] or Decimal(0)
    return (total / WEEK_DAYS).quantize(Decimal(1))


def _baths(
    works: Sequence[Work],
    marks: Mapping[UUID, Mark],
    labels: Mapping[UUID, str],
    products: Products,
) -> tuple[BathToMake, ...]:
    """Baths of one container for whatever is to be disinfected in it, by its label."""
    asked = {
        one.container: one for one in works if one.what is What.DISINFECT and one.container
    }
    found = []
    for uid in sorted(asked, key=lambda one: labels.get(one, "")):
        amount = amount_of(asked[uid], None, marks, products)
        bath = amount if isinstance(amount, BathAmount) else None
        found.append(BathToMake(labels.get(uid, ""), bath))
    return tuple(found)


# -- For programs ----------------------------------------------------------------------------


def shown_needs(found: NeedsSeen) -> dict[str, Any]:
    short, salt = found.needs.short_from, found.needs.salt_short_from
    return {
        "standing_l": shown(found.needs.standing_l),
        "short_from": short and short.day.isoformat(),
        "salt_short_from": salt and salt.day.isoformat(),
        "days": [_shown_day(one) for one in found.needs.days],
        "baths": [
            {"container_label": one.what, "amounts": one.amount and shown_amount(one.amount)}
            for one in found.baths
        ],
    }


def _shown_day(one: Day) -> dict[str, Any]:
    return {
        "day": one.day.isoformat(),
        "litres": shown(one.litres),
        "salt_kg": weighed(one.salt_kg),
        "water_changes_l": shown(one.changes_l),
        "to_mix_l": shown(one.to_mix_l),
        "to_mix_kg": weighed(one.to_mix_kg),
        "mix_by": one.mix_by,
        "salinity": shown(one.water.salinity),
        "temperature_c": shown(one.water.temperature_c),
        "salt_left_kg": None if one.salt_left_kg is None else shown(one.salt_left_kg),
        "fills": [
            {
                "at": fill.at,
                "batch": str(fill.batch),
                "code": fill.code,
                "container_label": fill.target or None,
                "litres": shown(fill.litres),
                "move": fill.number,
            }
            for fill in one.fills
        ],
    }
