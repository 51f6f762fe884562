"""Work that an ammonia alarm asks for: what to read, what to do, whether they are too many."""

from collections.abc import Iterator
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import Any

from protocols.ammonia import FREE, Alarm, Ammonia
from protocols.clocks import utc_text
from protocols.follow_ups import AGAIN_AFTER
from protocols.hours import SECOND
from protocols.moves_ahead import cost_of_moving
from protocols.tasks import AtSite, BatchWork, What, Work, work_key
from protocols.work_moves import series_so_far

# What a water change is to bring NH3 down to: where husbandry begins to act.
AIM_MG_L = Decimal("0.02")
STEP_PERCENT = 5
QUESTIONED_AFTER = 2


def alarm_work(batch: BatchWork, site: AtSite) -> Iterator[Work]:
    """An alarm that stands asks for free ammonia at once, and for the pH where nobody read it.

    It goes by a reading below the alarm or when the animals leave the container, never by
    itself. After two alarms in one series the stocking of the container is questioned.
    """
    if batch.ammonia is None:
        return
    if (alarm := batch.ammonia.open) is not None:
        yield _read_free(batch, batch.ammonia, alarm, site)
        if "ph" in alarm.newest.assumed:
            yield _read_ph(batch, alarm)
    if len(batch.ammonia.alarms) >= QUESTIONED_AFTER:
        yield _stocking(batch, batch.ammonia, site)


def _read_free(batch: BatchWork, known: Ammonia, alarm: Alarm, site: AtSite) -> Work:
    newest = alarm.newest
    again = AGAIN_AFTER if newest.sample.quantity == FREE else 0 * AGAIN_AFTER
    return Work(
        key=work_key(What.READING, newest.sample.container, alarm.first.sample.uid, FREE),
        what=What.READING,
        why=FREE,
        first=True,
        batch=batch.batch,
        container=newest.sample.container,
        planned=newest.at + again,
        numbers={
            **newest.numbers(),
            "alarm_mg_l": str(site.rules.nh3_n_alarm_mg_l),
            "alarms_in_series": len(known.alarms),
            "offers": list(_offers(batch, known, alarm, site)),
        },
    )


def _read_ph(batch: BatchWork, alarm: Alarm) -> Work:
    return Work(
        key=work_key(What.READING, alarm.newest.sample.container, alarm.first.sample.uid, "ph"),
        what=What.READING,
        why="ph",
        first=True,
        batch=batch.batch,
        container=alarm.newest.sample.container,
        planned=alarm.newest.at,
    )


def _offers(
    batch: BatchWork, known: Ammonia, alarm: Alarm, site: AtSite
) -> Iterator[dict[str, Any]]:
    """Two ways to help, each with what it does to the series."""
    yield _water_change(known, alarm, site.rules.nh3_n_alarm_mg_l)
    at = alarm.newest.at
    if batch.placed is None:
        return
    early: dict[str, Any] = {"kind": "move", "stay_s": (at - batch.placed) // SECOND}
    if batch.limit is None or not batch.placed <= at <= batch.limit:
        yield early
        return
    early |= {
        "limit_if_now": utc_text(at + batch.stay_limit),
        "stay_limit_s": batch.stay_limit // SECOND,
        "earliest_end": _text(batch.earliest_end),
    }
    if (so_far := series_so_far(batch, batch.placed, batch.limit)) is not None:
        cost = cost_of_moving(at, so_far)
        early |= {"moves_at_limit": cost.moves_at_limit, "moves_if_now": cost.moves}
    yield early


def _water_change(known: Ammonia, alarm: Alarm, alarm_mg_l: Decimal) -> dict[str, Any]:
    """So much of the water as brings NH3 down to where it may stay; the series goes on."""
    aim = min(AIM_MG_L, alarm_mg_l / 2)
    highest = Decimal(alarm.newest.most_mg_l)
    part = (1 - aim / highest) * 100 / STEP_PERCENT
    percent = int(part.to_integral_value(ROUND_CEILING)) * STEP_PERCENT
    found: dict[str, Any] = {
        "kind": "water_change",
        "percent": percent,
        "effect_on_series": "none",
    }
    if known.volume_l is not None:
        found["litres"] = str(round(known.volume_l * percent / 100, 1))
    return found


def _stocking(batch: BatchWork, known: Ammonia, site: AtSite) -> Work:
    """Named by the alarm that raised it: answered once, a further alarm does not ask again."""
    cause = known.alarms[QUESTIONED_AFTER - 1].first
    highest = max((one.newest for one in known.alarms), key=lambda one: one.nh3_n_mg_l)
    return Work(
        key=work_key(What.REVIEW_STOCKING, batch.batch, cause.sample.uid),
        what=What.REVIEW_STOCKING,
        why="stocking",
        batch=batch.batch,
        container=cause.sample.container,
        planned=cause.at,
        numbers={
            "alarms": len(known.alarms),
            "alive": batch.alive,
            "nh3_n_mg_l": highest.numbers()["nh3_n_mg_l"],
            "alarm_mg_l": str(site.rules.nh3_n_alarm_mg_l),
            "litres": None if known.volume_l is None else str(known.volume_l),
        },
    )


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else utc_text(moment)
