"""A site's own rules as they are said and kept: which keys there are, and what each may be."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import time
from decimal import Decimal, InvalidOperation
from typing import Any

from protocols import quiet
from protocols.kinds.places import ROLES
from protocols.quiet import RoleCalls
from protocols.said import said as sentence
from protocols.stocking_values import Own
from protocols.values import Reason, Rules

HOUR_S = 3600
DAY_S = 24 * HOUR_S


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and most that a number may be, both allowed."""

    least: int | Decimal
    most: int | Decimal


BOUNDS: Mapping[str, Bounds] = {
    "tolerance_s": Bounds(0, HOUR_S),
    "late_reason_after_s": Bounds(0, DAY_S),
    "late_confirm_after_s": Bounds(0, 7 * DAY_S),
    "reading_age_max_s": Bounds(60, DAY_S),
    "match_salinity": Bounds(Decimal("0.1"), Decimal(5)),
    "match_temperature_c": Bounds(Decimal("0.1"), Decimal(5)),
    "instrument_check_every_s": Bounds(HOUR_S, 366 * DAY_S),
    "neighbour_m": Bounds(Decimal(0), Decimal(100)),
    "near_limit_s": Bounds(0, DAY_S),
    "missing_close_after_s": Bounds(0, 60 * DAY_S),
    "loss_watch_count": Bounds(1, 1000),
    "loss_watch_fraction": Bounds(Decimal("0.01"), Decimal(1)),
    "loss_watch_window_s": Bounds(HOUR_S, 60 * DAY_S),
    "review_within_s": Bounds(HOUR_S, 7 * DAY_S),
    "clock_ahead_max_s": Bounds(0, HOUR_S),
    "deliver_after_s": Bounds(0, 30 * DAY_S),
    "device_silent_s": Bounds(HOUR_S, 30 * DAY_S),
    "mixed_least_s": Bounds(0, 7 * DAY_S),
    "nh3_n_alarm_mg_l": Bounds(Decimal("0.001"), Decimal(1)),
    "probe_silent_after_s": Bounds(60, 7 * DAY_S),
    "probe_stuck_after_s": Bounds(HOUR_S, 30 * DAY_S),
    "altitude_m": Bounds(Decimal(-430), Decimal(5000)),
    "idle_lock_s": Bounds(60, DAY_S // 2),
    "keep_years": Bounds(3, 100),
    "keep_medicine_years": Bounds(5, 100),
    "planning_ph": Bounds(Decimal("6.5"), Decimal("9.5")),
}
# What a site may know better of a group or a species: length to weight, food, usual length.
OWN_BOUNDS: Mapping[str, Bounds] = {
    "a": Bounds(Decimal("0.0001"), Decimal(1)),
    "b": Bounds(Decimal(2), Decimal(4)),
    "feed_percent_day": Bounds(Decimal("0.1"), Decimal(20)),
    "protein_fraction": Bounds(Decimal("0.01"), Decimal(1)),
    "length_cm": Bounds(Decimal("0.5"), Decimal(200)),
}
OWN_MOST, NAME_MOST = 200, 120
# What a public page may leave out, for a whole site and before a course begins.
MAY_HIDE = ("deaths_by_day", "origin", "species_trade_names")
REMINDERS_MOST = 10
WALL = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)


def read_rules(said: Mapping[str, Any]) -> Rules | tuple[Reason, ...]:
    """The rules that `said` means, or every reason why it cannot be meant, with its pointer."""
    if wrong := tuple(_faults(said)):
        return wrong
    return Rules(**{name: _value(name, value) for name, value in said.items()})


def plain_rules(rules: Rules) -> dict[str, Any]:
    """The rules as kept and shown: whole numbers, text for numbers with a fraction."""
    return {each.name: _plain(getattr(rules, each.name)) for each in fields(rules)}


def _faults(said: Mapping[str, Any]) -> Iterator[Reason]:
    known = {each.name for each in fields(Rules)}
    for name, value in said.items():
        if name not in known:
            yield _fault("unknown_field", name, sentence("There is no rule {name}.", name=name))
        elif name in BOUNDS:
            yield from _number_faults(name, value, BOUNDS[name])
        elif name == "planning":
            yield from _own_faults(value)
        elif name == "calls":
            yield from _calls_faults(value)
        elif not _is_sound(name, value):
            yield _fault("unreadable", name, sentence("This cannot be {name}.", name=name))


def _number_faults(name: str, value: Any, bounds: Bounds) -> Iterator[Reason]:
    number = _number(value, whole=isinstance(bounds.least, int))
    if number is None:
        yield _fault("unreadable", name, "Type a number.")
    elif not bounds.least <= number <= bounds.most:
        text = sentence(
            "It must be from {least} to {most}.", least=bounds.least, most=bounds.most
        )
        yield _fault("unreadable", name, text, least=str(bounds.least), most=str(bounds.most))


def _own_faults(value: Any) -> Iterator[Reason]:
    if not isinstance(value, list | tuple) or len(value) > OWN_MOST:
        yield _fault(
            "unreadable",
            "planning",
            sentence("A list of at most {own_most}.", own_most=OWN_MOST),
        )
        return
    for number, one in enumerate(value):
        at = f"planning/{number}"
        named = isinstance(one, Mapping) and isinstance(one.get("of"), str)
        if not named or not 0 < len(one["of"]) <= NAME_MOST:
            yield _fault("unreadable", f"{at}/of", "Name a group or a scientific name.")
            continue
        for name, said in one.items():
            if name in OWN_BOUNDS:
                yield from _number_faults(f"{at}/{name}", said, OWN_BOUNDS[name])
            elif name != "of":
                yield _fault(
                    "unknown_field",
                    f"{at}/{name}",
                    sentence("There is no value {name}.", name=name),
                )
        if ("a" in one) is not ("b" in one):
            yield _fault("unreadable", f"{at}/a", "a and b belong together.")


def _calls_faults(value: Any) -> Iterator[Reason]:
    if not isinstance(value, list | tuple) or len(value) > len(ROLES):
        yield _fault("unreadable", "calls", "A list with one entry for each role.")
        return
    roles = [one.get("role") for one in value if isinstance(one, Mapping)]
    for number, one in enumerate(value):
        at = f"calls/{number}"
        if not isinstance(one, Mapping) or one.get("role") not in ROLES:
            yield _fault("unreadable", f"{at}/role", f"Name one of {', '.join(ROLES)}.")
            continue
        if roles.count(one["role"]) > 1:
            yield _fault("unreadable", f"{at}/role", "Each role once.")
        for name, said in one.items():
            if name not in ("role", "hears", "quiet_from", "quiet_to"):
                yield _fault("unknown_field", f"{at}/{name}", f"There is no value {name}.")
            elif name == "hears" and not _are_sorts(said):
                text = f"A list of any of {', '.join(quiet.SORTS)}."
                yield _fault("unreadable", f"{at}/hears", text)
            elif name.startswith("quiet_") and not _is_wall(said):
                yield _fault("unreadable", f"{at}/{name}", "A wall time such as 22:00.")
        if ("quiet_from" in one) is not ("quiet_to" in one):
            text = "Quiet hours have a beginning and an end."
            yield _fault("unreadable", f"{at}/quiet_from", text)


def _are_sorts(value: Any) -> bool:
    return isinstance(value, list) and all(one in quiet.SORTS for one in value)


def _is_wall(value: Any) -> bool:
    return isinstance(value, str) and WALL.fullmatch(value) is not None


def _is_sound(name: str, value: Any) -> bool:
    if name in ("outside_second", "second_factor_needed"):
        return isinstance(value, bool)
    if not isinstance(value, list | tuple) or len(value) > REMINDERS_MOST:
        return False
    if name == "public_hides":
        return all(one in MAY_HIDE for one in value)
    return all(type(one) is int and 0 < one <= 7 * DAY_S for one in value)


def _number(value: Any, *, whole: bool) -> int | Decimal | None:
    if whole:
        return value if type(value) is int else None
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _value(name: str, value: Any) -> Any:
    if name == "planning":
        return tuple(_own(one) for one in value)
    if name == "calls":
        return tuple(_role_calls(one) for one in value)
    if name in BOUNDS:
        return value if isinstance(BOUNDS[name].least, int) else Decimal(str(value))
    return tuple(value) if isinstance(value, list) else value


def _own(said: Mapping[str, Any]) -> Own:
    return Own(
        of=said["of"],
        **{name: Decimal(str(said[name])) for name in OWN_BOUNDS if name in said},
    )


def _role_calls(said: Mapping[str, Any]) -> RoleCalls:
    walls = {
        name: time.fromisoformat(said[name])
        for name in ("quiet_from", "quiet_to")
        if name in said
    }
    return RoleCalls(said["role"], tuple(said.get("hears", quiet.SORTS)), **walls)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, Own | RoleCalls):
        said = {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
        return {name: one for name, one in said.items() if one is not None}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value


def _fault(code: str, name: str, text: str, **numbers: Any) -> Reason:
    return Reason(code=code, rule=code, text=text, numbers=numbers, pointer=f"/rules/{name}")
