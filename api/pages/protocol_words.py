"""A protocol version as people read it: members by their words, values with their units."""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from api.pages.words import plain
from protocols.library.values import Definition, Dose
from protocols.library.writing import leaves
from protocols.ruled import Protocol

HOUR = timedelta(hours=1)
# Members that stand elsewhere on the page, or that people do not choose.
FIXED = frozenset({"name", "version", "stage", "slack_s"})
FIRST = (
    ("stop_signs", "Stop at once when"),
    ("refused", "Never for"),
    ("care", "With special care for"),
    ("restarts_at", "Begins anew with"),
)
LISTS = (
    ("addresses", "What it addresses"),
    ("does_not_cover", "What it does not cover"),
    ("sources", "Where the figures are from"),
)
WORDS = {
    "title": "What it is about",
    "stay_limit_s": "Longest stay in one container",
    "moves_least": "Moves at least",
    "span_least_s": "From day 1 to the last move at least",
    "slack_s": "Slack of the fewest moves, each at its limit",
    "warm_c": "Warm is water above",
    "warm_after_s": "Warm for longer than this, the stay gets shorter",
    "warm_limit_s": "Longest stay in warm water",
    "cold_c": "Hours in water below this do not count",
    "drying_s": "Kept dry, from when somebody saw it dry",
    "chlorine_mg_l_least": "Chlorine at least, measured",
    "contact_least_s": "Contact with chlorine at least",
    "observation_s": "Observation",
    "salinity_range": "Salinity",
    "temperature_range_c": "Temperature",
    "addresses": "What it addresses",
    "does_not_cover": "What it does not cover",
    "cautions": "Cautions",
    "sources": "Where the figures are from",
    "agents": "What is given",
    "given_with": "What may be given with it",
    "veterinarian": "A veterinarian is",
    "refused": "Never for",
    "care": "With special care for",
    "stop_signs": "Stop at once when",
    "agent": "of what",
    "least": "at least",
    "most": "at most",
    "unit": "unit",
    "basis": "counted as",
    "above_c": "in water above",
    "up_to_c": "in water up to",
    "least_s": "at least",
    "most_s": "at most",
    "doses": "how often",
    "apart_least_s": "apart at least",
    "apart_most_s": "apart at most",
    "ramp_least_s": "brought up or down over at least",
    "ramp_most_s": "brought up or down over at most",
    "what": "what",
    "every_s": "every",
    "temperature_most_c": "no warmer than",
    "oxygen_least_percent": "oxygen at least",
    "clear": "clear, never cloudy",
    "quantity": "what is measured",
    "range": "counts between",
    "needed_s": "hours in range needed",
    "restarts": "a drop below starts it anew",
    "gap_most_s": "between readings at most",
    "begins": "from",
    "reaches": "down to",
    "down_per_day_most": "down in a day at most",
    "up_per_day_most": "up in a day at most",
    "down_least_s": "down over at least",
    "up_least_s": "up again over at least",
    "organism": "against what",
    "days": "days without fish",
    "never_up_to_c": "No figure is safe in water up to",
    "restarts_at": "Begins anew with",
}
TABLES = {
    "dose": "Dose",
    "time": "Time",
    "watched": "Watched",
    "water": "Water",
    "clock": "Clock",
    "salinity": "Salinity",
    "step": "Step",
}
UNITS = {"_c": "\u00b0C", "_c_range": "\u00b0C", "_percent": "%", "_mg_l_least": "mg/L"}
SIZES = ((86400, "days"), (3600, "h"), (60, "min"), (1, "s"))


def member_words(place: str) -> str:
    """The words of a member by its place: `Dose 2, at least`."""
    parts = place.split(".")
    said = WORDS.get(parts[-1], plain(parts[-1]))
    if len(parts) == 1:
        return said
    number = f" {int(parts[1]) + 1}" if parts[1].isdecimal() else ""
    return f"{TABLES.get(parts[0], plain(parts[0]))}{number}: {said}"


def unit_of(place: str) -> str:
    """The unit beside a member that is no duration; nothing where there is none."""
    if place.endswith("temperature_range_c"):
        return "\u00b0C"
    return next((unit for end, unit in UNITS.items() if place.endswith(end)), "")


def size_of(seconds: int) -> tuple[int, str]:
    """The largest unit in which a duration is a whole number: hours rather than one day."""
    for size, word in SIZES:
        if seconds % size == 0 and (size < 86400 or seconds >= 4 * 86400):
            return size, word
    return SIZES[-1]


def value_words(place: str, value: Any) -> str:
    """A value as people write it: 72 h, 27.0 to 36.0, yes."""
    match value:
        case None:
            return "not said"
        case bool():
            return "yes" if value else "no"
        case int() if place.endswith("_s"):
            size, word = size_of(value)
            return f"{Decimal(value) / size:f} {word}"
        case list() if is_range(value):
            return f"{value[0]} to {value[1]} {unit_of(place)}".strip()
        case list():
            return "; ".join(plain(one) for one in value) or "nothing"
    return f"{plain(value)} {unit_of(place)}".strip()


def is_range(value: Any) -> bool:
    """Whether a list is a least and a most number rather than texts."""
    pair = isinstance(value, Sequence) and len(value) == 2
    return pair and all(re.fullmatch(r"-?[0-9.]+", str(one)) for one in value)


def about(found: Protocol | Definition) -> str:
    """What a version is about, in its own words or from its figures."""
    if found.title or not isinstance(found, Protocol):
        return found.title
    hours, days = (one // HOUR for one in (found.stay_limit, found.span_least))
    return (
        f"{found.moves_least} moves at most {hours} h apart, {days} h from day 1, then "
        f"{found.observation.days} days of observation"
    )


def what_is_done(said: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Names and values of everything that is not a list of texts, in the order written."""
    apart = {*FIXED, "title", "cautions", *(name for name, _ in (*FIRST, *LISTS))}
    for name, value in said.items():
        if name in LINES:
            yield from (LINES[name](one) for one in value)
        elif name not in apart or name == "slack_s":
            yield from (
                (member_words(at), value_words(at, one)) for at, one in leaves({name: value})
            )


def amounts(one: Dose) -> str:
    """A dose in one line: `0.15 to 0.20 mg/L, counted as free copper`."""
    least, most = one.amount.least, one.amount.most
    unit = "" if one.unit == "1" else f" {one.unit}"
    said = f"{least}{unit}" if least == most else f"{least} to {most}{unit}"
    for bound, words in ((one.above_c, "above"), (one.up_to_c, "up to")):
        if bound is not None:
            said += f" in water {words} {bound} \u00b0C"
    return f"{said}, counted as {one.basis}"


def _dose(one: Mapping[str, Any]) -> tuple[str, str]:
    name = f"Dose of {plain(one['agent'])}"
    for end, words in (("above_c", "above"), ("up_to_c", "up to")):
        if end in one:
            name += f", water {words} {one[end]} \u00b0C"
    amount = one["least"] if one["least"] == one["most"] else f"{one['least']} to {one['most']}"
    unit = "" if one["unit"] == "1" else f" {one['unit']}"
    return name, f"{amount}{unit}, counted as {one['basis']}"


def _watched(one: Mapping[str, Any]) -> tuple[str, str]:
    return f"Look at {one['what']}", f"every {value_words('every_s', one['every_s'])}"


def _step(one: Mapping[str, Any]) -> tuple[str, str]:
    days = f"{one['days']} days without fish" if "days" in one else "no time is long enough"
    return f"{one['organism']}, water above {one['above_c']} \u00b0C", days


LINES = {"dose": _dose, "watched": _watched, "step": _step}
