"""What contributes most: the risk, minus the risk without one part of the record.

Parts overlap and need not add up.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from protocols.carryover.inputs import Death, Inputs, Join

BASE, NO_GEAR = "risk", "without_gear"


def variants(record: Inputs) -> dict[str, Inputs]:
    """The record as it is, and without each part that may have contributed, by name."""
    without_gear = _without_any_gear(record)
    found = {BASE: record, NO_GEAR: without_gear, "stayed_on_fish": _only_stayed(record)}
    for k, stay in enumerate(record.stays):
        if stay.end > stay.first:
            found[f"hatched_in_stay_{k + 1}"] = replace(without_gear, barren=frozenset({k}))
        if any(not gear.ready for gear in stay.gear):
            found[f"gear_of_stay_{k + 1}"] = _without_gear_of(record, k)
    if any(stay.water_carried_ml for stay in record.stays):
        found["water_carried"] = _dry(record)
    if record.deaths:
        found["dead_animals"] = replace(record, deaths=_at_once(record))
    if record.joins:
        found["joined_animals"] = replace(record, joins=_clean(record))
    if record.exposure:
        found["exposure"] = replace(record, exposure=())
    return found


def leading(risks: Mapping[str, float]) -> str | None:
    """The largest part, by the risk of each variant; None where there is no risk."""
    if risks[BASE] == 0:
        return None
    parts = dict(_parts(risks))
    return max(parts, key=lambda name: parts[name])


def _parts(risks: Mapping[str, float]) -> Iterable[tuple[str, float]]:
    for name, risk in risks.items():
        if name == "stayed_on_fish":
            yield name, risk
        elif name.startswith("hatched_in_stay_"):
            yield name, risks[NO_GEAR] - risk
        elif name not in (BASE, NO_GEAR):
            yield name, risks[BASE] - risk


def _only_stayed(record: Inputs) -> Inputs:
    """Nothing from outside and nothing hatched: what is left never left the animals."""
    return replace(
        _dry(_without_any_gear(record)),
        deaths=_at_once(record),
        joins=_clean(record),
        exposure=(),
        barren=frozenset(range(len(record.stays))),
    )


def _without_any_gear(record: Inputs) -> Inputs:
    return replace(record, stays=tuple(replace(each, gear=()) for each in record.stays))


def _dry(record: Inputs) -> Inputs:
    stays = tuple(replace(each, water_carried_ml=0.0) for each in record.stays)
    return replace(record, stays=stays)


def _without_gear_of(record: Inputs, k: int) -> Inputs:
    stays = list(record.stays)
    stays[k] = replace(stays[k], gear=())
    return replace(record, stays=tuple(stays))


def _at_once(record: Inputs) -> tuple[Death, ...]:
    return tuple(replace(each, removed_after_h=0.0) for each in record.deaths)


def _clean(record: Inputs) -> tuple[Join, ...]:
    return tuple(replace(each, parasites_per_fish=0.0) for each in record.joins)
