"""How many animals a container takes until the limit, or what to change. For planning only.

What binds is told with the answer: ammonia against the site's alarm, oxygen against saturation,
one to a cell for those that fight, nobody beside those that poison the water.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

from protocols.handling import Handled
from protocols.said import said
from protocols.stocking_forecast import (
    AERATED,
    OXYGEN_CRITICAL_MG_L,
    Animals,
    Change,
    Conditions,
    Oxygen,
    Plan,
    Point,
    corners,
    demand,
    forecast,
    oxygen,
    peak,
    reaches,
    saturation,
)

# More than so many are not counted out: nothing binds.
COUNTED_MOST = 100_000
# Oxygen is to settle at so much of saturation at least; about 5.4 mg/L at the sea.
OXYGEN_LEAST_PERCENT = 80.0
STEP_PERCENT, CHANGE_MOST_PERCENT = 5, 90


class Binds(StrEnum):
    """What keeps more from going in."""

    AMMONIA = "ammonia"
    OXYGEN = "oxygen"
    ONE_PER_CELL = "one_per_cell"
    TOXIC_ALONE = "toxic_alone"


@dataclass(frozen=True, slots=True)
class Way:
    """Something to change so that they fit."""

    kind: str  # fewer, larger, water_change, less_feed, air_stone
    text: str
    numbers: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answer:
    """`most` of the first kind fit beside the others; None where nothing binds.

    `alarm_after_h` is when NH3 reaches the alarm, None where it does not during the stay.
    """

    asked: int
    most: int | None
    binds: Binds | None
    curve: tuple[Point, ...]
    alarm_mg_l: float
    alarm_after_h: float | None
    oxygen: Oxygen
    ways: tuple[Way, ...] = ()

    @property
    def fits(self) -> bool:
        return self.most is None or self.asked <= self.most

    @property
    def highest(self) -> Point:
        return peak(self.curve)


def answer(
    animals: Sequence[Animals],
    water: Conditions,
    plan: Plan,
    *,
    alarm_mg_l: float,
    cells: int = 1,
) -> Answer:
    """What becomes of these animals in this water, and how many of the first kind fit.

    `alarm_mg_l` is in mg/L NH3-N; at the alarm is too much. `cells` are the compartments of the
    container. Raises ValueError without animals, and for what cannot be measured.
    """
    if not animals or any(one.count < 0 for one in animals):
        raise ValueError("animals are to be some, and none of them fewer than none")
    curve = forecast(animals, water, plan)
    most, binds = most_of(animals, water, plan, alarm_mg_l=alarm_mg_l, cells=cells)
    found = Answer(
        asked=animals[0].count,
        most=most,
        binds=binds,
        curve=curve,
        alarm_mg_l=alarm_mg_l,
        alarm_after_h=reaches(curve, alarm_mg_l),
        oxygen=oxygen(animals, water),
    )
    if found.fits:
        return found
    return replace(found, ways=tuple(_ways(found, animals, water, plan)))


def most_of(
    animals: Sequence[Animals],
    water: Conditions,
    plan: Plan,
    *,
    alarm_mg_l: float,
    cells: int = 1,
) -> tuple[int | None, Binds | None]:
    """How many of the first kind fit beside the others, and what binds; None for no bound."""
    bounds = {
        Binds.TOXIC_ALONE: _beside_toxic(animals),
        Binds.ONE_PER_CELL: _by_cells(animals, cells),
        Binds.AMMONIA: _by_ammonia(animals, water, plan, alarm_mg_l),
        Binds.OXYGEN: _by_oxygen(animals, water),
    }
    known = {name: most for name, most in bounds.items() if most <= COUNTED_MOST}
    if not known:
        return None, None
    binds = min(known, key=lambda name: known[name])
    return known[binds], binds


def _beside_toxic(animals: Sequence[Animals]) -> int:
    """None at all where one of them poisons the water and another kind is there."""
    others = [one for one in animals[1:] if one.count]
    toxic = any(Handled.TOXIC in one.minded for one in (animals[0], *others))
    return 0 if toxic and others else COUNTED_MOST + 1


def _by_cells(animals: Sequence[Animals], cells: int) -> int:
    """Those that fight have a cell each; nobody is put in with one."""
    taken = sum(one.count for one in animals[1:])
    fight = any(Handled.AGGRESSIVE in one.minded for one in animals if one.count)
    return max(cells - taken, 0) if fight else COUNTED_MOST + 1


def _by_ammonia(
    animals: Sequence[Animals], water: Conditions, plan: Plan, alarm_mg_l: float
) -> int:
    """Ammonia grows straight with their number: from what one adds at every bend."""
    base = corners((animals[0].times(0), *animals[1:]), water, plan)
    with_one = corners((animals[0].times(1), *animals[1:]), water, plan)
    counts = [_below(one, more, alarm_mg_l) for one, more in zip(base, with_one, strict=True)]
    guess = min(counts)

    def fits(count: int) -> bool:
        several = corners((animals[0].times(count), *animals[1:]), water, plan)
        return peak(several).nh3_n_mg_l < alarm_mg_l

    return guess if guess > COUNTED_MOST else _settled(guess, fits)


def _below(base: Point, with_one: Point, alarm_mg_l: float) -> int:
    room, each = alarm_mg_l - base.nh3_n_mg_l, with_one.nh3_n_mg_l - base.nh3_n_mg_l
    if room <= 0:
        return 0
    return COUNTED_MOST + 1 if each * COUNTED_MOST < room else int(room / each)


def _by_oxygen(animals: Sequence[Animals], water: Conditions) -> int:
    each = demand((animals[0].times(1),), water.temperature_c)
    room = _room_for_oxygen(water) - demand(animals[1:], water.temperature_c)
    guess = max(int(room / each), 0)

    def fits(count: int) -> bool:
        used = demand((animals[0].times(count), *animals[1:]), water.temperature_c)
        return used <= _room_for_oxygen(water)

    return guess if guess > COUNTED_MOST else _settled(guess, fits)


def _room_for_oxygen(water: Conditions) -> float:
    """How much they may use together in mg/h so that enough is left."""
    full = saturation(water)
    least = max(full * OXYGEN_LEAST_PERCENT / 100, OXYGEN_CRITICAL_MG_L)
    return max(full - least, 0.0) * water.exchange_per_h * water.volume_l


def _settled(guess: int, fits: Any) -> int:
    """The largest count that fits: what rounding did to the guess is put right."""
    while guess > 0 and not fits(guess):
        guess -= 1
    while fits(guess + 1):
        guess += 1
    return guess


# -- What to change ----------------------------------------------------------------------------


def _ways(
    found: Answer, animals: Sequence[Animals], water: Conditions, plan: Plan
) -> Iterator[Way]:
    if found.most:
        text = said("At most {most} in this container.", most=found.most)
        yield Way("fewer", text, {"count": found.most})
    if found.binds not in (Binds.AMMONIA, Binds.OXYGEN):
        return
    breathe = demand(animals, water.temperature_c) <= _room_for_oxygen(water)
    if not breathe and water.exchange_per_h < AERATED:
        with_air = replace(water, exchange_per_h=AERATED)
        if demand(animals, water.temperature_c) <= _room_for_oxygen(with_air):
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
        if demand(animals, water.temperature_c) > _room_for_oxygen(larger):
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
