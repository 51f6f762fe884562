"""From JSON to Inputs: everything that cannot be is refused with name, value and range."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import isfinite
from typing import Any

from protocols.carryover.inputs import Death, Exposure, Gear, Inputs, Join, Stay, whole_hour

LONGEST_H = 24 * 366
MOST_FISH = 100_000
MOST_PARASITES = 100_000.0
COLDEST_C, WARMEST_C = -2.0, 45.0
CLOCK = (0.0, 24.0)


def read_inputs(given: Mapping[str, Any]) -> Inputs:
    """The record that `given` says (as in `tests/protocols/carryover.json`).

    Hours 0 to 8784 since placement, Celsius -2 to 45, litres above 0, millilitres, counts.
    Raises ValueError with the name, the value and what would be allowed.
    """
    inputs = Inputs(
        fish=_whole(given, "fish", 1, MOST_FISH),
        parasites_per_fish=_number(given, "parasites_per_fish", 0.0, MOST_PARASITES),
        start_clock_h=_number(given, "start_clock_h", *CLOCK),
        lights_on_h=_number(given, "lights_on_h", *CLOCK),
        lights_off_h=_number(given, "lights_off_h", *CLOCK),
        temperature_c=tuple(_temperatures(given)),
        stays=tuple(_stay(each, name) for each, name in _each(given, "stays")),
        deaths=tuple(_death(each, name) for each, name in _each(given, "deaths")),
        joins=tuple(_join(each, name) for each, name in _each(given, "joins")),
        exposure=tuple(_exposure(each, name) for each, name in _each(given, "exposure")),
        assumed=frozenset(given.get("assumed", ())),
    )
    check(inputs)
    return inputs


def check(inputs: Inputs) -> None:
    """Whether the parts fit together. Raises ValueError with the first that does not."""
    _check_stays(inputs.stays)
    hours = [hour for hour, _ in inputs.temperature_c]
    if not hours:
        raise ValueError("temperature_c is empty; it needs at least one [hour, C]")
    if any(b <= a for a, b in pairwise(hours)):
        raise ValueError(f"temperature_c has hours {hours}; they must rise")
    _check_alive(inputs)


def _check_stays(stays: Sequence[Stay]) -> None:
    if not stays:
        raise ValueError("stays is empty; a record has at least one stay")
    reached = 0
    for n, stay in enumerate(stays):
        if stay.first != reached:
            raise ValueError(
                f"stays[{n}].start_h is {stay.start_h}; it must be {reached},"
                " where the stay before it ended"
            )
        may_be_empty = n == len(stays) - 1
        if stay.end < stay.first or (stay.end == stay.first and not may_be_empty):
            raise ValueError(
                f"stays[{n}].end_h is {stay.end_h}; it must be later than {stay.first}"
                " (only the last stay may be just beginning)"
            )
        reached = stay.end


def _check_alive(inputs: Inputs) -> None:
    """Somebody is alive at every hour, and nothing happens after the end."""
    changes = [(whole_hour(each.hour), -each.fish, "joins") for each in inputs.joins]
    changes += [(whole_hour(each.hour), 1, "deaths") for each in inputs.deaths]
    alive = inputs.fish
    for hour, less, what in sorted(changes):
        if hour > inputs.end:
            raise ValueError(f"{what} has hour {hour}; it must be from 0 to {inputs.end}")
        alive -= less
        if alive < 1:
            raise ValueError(
                f"deaths leave {alive} animals at hour {hour}; it must be at least 1:"
                " the record ends when nobody is left"
            )


def _temperatures(given: Mapping[str, Any]) -> Iterator[tuple[float, float]]:
    for n, point in enumerate(_list(given, "temperature_c")):
        name = f"temperature_c[{n}]"
        if not isinstance(point, Sequence) or isinstance(point, str) or len(point) != 2:
            raise ValueError(f"{name} is {point!r}; it must be [hour, C]")
        hour = _as_number(point[0], f"{name}[0]", -float(LONGEST_H), float(LONGEST_H))
        yield hour, _as_number(point[1], f"{name}[1]", COLDEST_C, WARMEST_C)


def _stay(given: Mapping[str, Any], name: str) -> Stay:
    lights = {
        key: _number(given, key, *CLOCK, name)
        for key in ("lights_on_h", "lights_off_h")
        if given.get(key) is not None
    }
    if len(lights) == 1:
        raise ValueError(f"{name} has {next(iter(lights))} alone; it must have both or none")
    return Stay(
        start_h=_hour(given, "start_h", name),
        end_h=_hour(given, "end_h", name),
        volume_l=_above_zero(given, "volume_l", 1e6, name),
        water_carried_ml=_number(given, "water_carried_ml", 0.0, 1e9, name, missing=0.0),
        gear=tuple(_gear(each, f"{name}.{at}") for each, at in _each(given, "gear")),
        **lights,
    )


def _gear(given: Mapping[str, Any], name: str) -> Gear:
    disinfected = given.get("disinfected")
    if not isinstance(disinfected, bool):
        raise ValueError(f"{name}.disinfected is {disinfected!r}; it must be true or false")
    return Gear(
        prior_cysts=_number(given, "prior_cysts", 0.0, 1e9, name),
        hours_since_use=_hour(given, "hours_since_use", name, 10 * LONGEST_H),
        disinfected=disinfected,
        dry_h=_hour(given, "dry_h", name, 10 * LONGEST_H),
    )


def _death(given: Mapping[str, Any], name: str) -> Death:
    return Death(_hour(given, "hour", name), _hour(given, "removed_after_h", name))


def _join(given: Mapping[str, Any], name: str) -> Join:
    load = _number(given, "parasites_per_fish", 0.0, MOST_PARASITES, name)
    fish = _whole(given, "fish", 1, MOST_FISH, name)
    return Join(_hour(given, "hour", name), fish, load)


def _exposure(given: Mapping[str, Any], name: str) -> Exposure:
    start, end = _hour(given, "start_h", name), _hour(given, "end_h", name)
    if end < start:
        raise ValueError(f"{name}.end_h is {end}; it must be at least start_h, {start}")
    return Exposure(start, end, _number(given, "infections_per_h", 0.0, 1e6, name))


def _each(given: Mapping[str, Any], key: str) -> Iterator[tuple[Mapping[str, Any], str]]:
    for n, each in enumerate(_list(given, key)):
        if not isinstance(each, Mapping):
            raise ValueError(f"{key}[{n}] is {each!r}; it must be an object")
        yield each, f"{key}[{n}]"


def _list(given: Mapping[str, Any], key: str) -> Sequence[Any]:
    found = given.get(key, ())
    if not isinstance(found, Sequence) or isinstance(found, str):
        raise ValueError(f"{key} is {found!r}; it must be a list")
    return found


def _hour(given: Mapping[str, Any], key: str, name: str, most: int = LONGEST_H) -> float:
    return _number(given, key, 0.0, float(most), name)


def _above_zero(given: Mapping[str, Any], key: str, most: float, name: str) -> float:
    number = _number(given, key, 0.0, most, name)
    if number == 0:
        raise ValueError(f"{name}.{key} is 0; it must be above 0")
    return number


def _whole(given: Mapping[str, Any], key: str, least: int, most: int, name: str = "") -> int:
    number = _number(given, key, least, most, name)
    if number != int(number):
        raise ValueError(f"{_at(name, key)} is {number}; it must be a whole number")
    return int(number)


def _number(
    given: Mapping[str, Any],
    key: str,
    least: float,
    most: float,
    name: str = "",
    missing: float | None = None,
) -> float:
    if key not in given:
        if missing is not None:
            return missing
        raise ValueError(f"{_at(name, key)} is missing; it must be from {least} to {most}")
    return _as_number(given[key], _at(name, key), least, most)


def _as_number(value: Any, name: str, least: float, most: float) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not isfinite(value) or not least <= value <= most:
        raise ValueError(f"{name} is {value!r}; it must be a number from {least} to {most}")
    return float(value)


def _at(name: str, key: str) -> str:
    return f"{name}.{key}" if name else key
