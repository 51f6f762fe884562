"""How many animals a container takes until the limit, or what to change. For planning only.

What binds is told with the answer: ammonia against the site's alarm, oxygen against saturation,
one to a cell for those that fight, nobody beside those that poison the water.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from protocols.handling import Handled
from protocols.stocking_answer import Answer, Binds
from protocols.stocking_forecast import (
    Animals,
    Conditions,
    Plan,
    Point,
    corners,
    demand,
    forecast,
    oxygen,
    peak,
    reaches,
    room_for_oxygen,
)
from protocols.stocking_ways import ways_out

# More than so many are not counted out: nothing binds.
COUNTED_MOST = 100_000


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
    return replace(found, ways=tuple(ways_out(found, animals, water, plan)))


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
    room = room_for_oxygen(water) - demand(animals[1:], water.temperature_c)
    guess = max(int(room / each), 0)

    def fits(count: int) -> bool:
        used = demand((animals[0].times(count), *animals[1:]), water.temperature_c)
        return used <= room_for_oxygen(water)

    return guess if guess > COUNTED_MOST else _settled(guess, fits)


def _settled(guess: int, fits: Any) -> int:
    """The largest count that fits: what rounding did to the guess is put right."""
    while guess > 0 and not fits(guess):
        guess -= 1
    while fits(guess + 1):
        guess += 1
    return guess
