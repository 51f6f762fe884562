"""What to change so that all of them fit; each way is tried before it is offered."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from protocols.said import said
from protocols.stocking_answer import Answer, Binds, Way
from protocols.stocking_forecast import (
    AERATED,
    Animals,
    Change,
    Conditions,
    Plan,
    corners,
    demand,
    peak,
    room_for_oxygen,
)

STEP_PERCENT, CHANGE_MOST_PERCENT = 5, 90


def ways_out(
    found: Answer, animals: Sequence[Animals], water: Conditions, plan: Plan
) -> Iterator[Way]:
    if found.most:
        text = said("At most {most} in this container.", most=found.most)
        yield Way("fewer", text, {"count": found.most})
    if found.binds not in (Binds.AMMONIA, Binds.OXYGEN):
        return
    breathe = demand(animals, water.temperature_c) <= room_for_oxygen(water)
    if not breathe and water.exchange_per_h < AERATED:
        with_air = replace(water, exchange_per_h=AERATED)
        if demand(animals, water.temperature_c) <= room_for_oxygen(with_air):
            yield Way("air_stone", "With an air stone there is oxygen enough.")
    larger = _litres(found, animals, water, plan)
    if larger is not None:
        text = said(
            "A container of at least {larger} L takes all {asked}.",
            larger=larger,
            asked=found.asked,
        )
        yield Way("larger", text, {"volume_l": larger})
    if breathe and found.alarm_after_h is not None:
        yield from _water_change(found, animals, water, plan)
        yield from _less_feed(found, animals, water, plan)


def _litres(
    found: Answer, animals: Sequence[Animals], water: Conditions, plan: Plan
) -> int | None:
    """The least whole number of litres in which all of them fit; None where none helps."""

    def fits(volume_l: int) -> bool:
        larger = replace(water, volume_l=float(volume_l))
        if demand(animals, water.temperature_c) > room_for_oxygen(larger):
            return False
        return peak(corners(animals, larger, plan)).nh3_n_mg_l < found.alarm_mg_l

    low, high = math.ceil(water.volume_l), math.ceil(water.volume_l)
    while not fits(high):
        low, high = high, high * 2
        if high > water.volume_l * 1000:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def _water_change(
    found: Answer, animals: Sequence[Animals], water: Conditions, plan: Plan
) -> Iterator[Way]:
    """The smallest part, changed before the alarm, and as often again as it takes."""
    assert found.alarm_after_h is not None
    after = math.floor(found.alarm_after_h)
    if after < 1:
        return
    every = range(after, math.ceil(plan.hours), after)
    for percent in range(STEP_PERCENT, CHANGE_MOST_PERCENT + 1, STEP_PERCENT):
        for times in range(1, len(every) + 1):
            changes = tuple(Change(hour, percent / 100) for hour in every[:times])
            points = corners(animals, water, replace(plan, changes=changes))
            if peak(points).nh3_n_mg_l < found.alarm_mg_l:
                yield _change_said(percent, after, times, water)
                return


def _change_said(percent: int, after: int, times: int, water: Conditions) -> Way:
    litres = round(water.volume_l * percent / 100, 1)
    again = (
        said(", and {times} times in all, every {after} h", times=times, after=after)
        if times > 1
        else ""
    )
    return Way(
        "water_change",
        said(
            "Change {percent} % of the water ({litres:g} L) after {after} h{again}.",
            percent=percent,
            litres=litres,
            after=after,
            again=again,
        ),
        {"percent": percent, "litres": litres, "after_h": after, "times": times},
    )


def _less_feed(
    found: Answer, animals: Sequence[Animals], water: Conditions, plan: Plan
) -> Iterator[Way]:
    """A smaller ration, as long as it keeps them."""
    for percent in range(100 - STEP_PERCENT, 0, -STEP_PERCENT):
        if any(
            one.feed_percent_day * percent / 100 < maintenance_percent_day(one.mass_g)
            for one in animals
        ):
            return
        points = corners(animals, water, replace(plan, ration=percent / 100))
        if peak(points).nh3_n_mg_l < found.alarm_mg_l:
            text = said("Feed {percent} % of the planned ration.", percent=percent)
            yield Way("less_feed", text, {"percent": percent})
            return


def maintenance_percent_day(mass_g: float) -> float:
    """Dry food in % of the mass a day that keeps one animal of so many g: 0.8 at 1.3 g, 0.32 at
    150 g (A. percula, 20 kJ/g)."""
    return float(0.84 * mass_g**-0.193)
