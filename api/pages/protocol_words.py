"""A protocol version as people read it: members by their words, values with their units."""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from api.language import later
from api.pages.words import plain
from protocols.library.values import Definition, Dose
from protocols.library.writing import leaves
from protocols.ruled import Protocol

HOUR = timedelta(hours=1)
# Members that stand elsewhere on the page, or that people do not choose.
FIXED = frozenset({"name", "version", "stage", "slack_s"})
FIRST = (
    ("stop_signs", later("Stop at once when")),
    ("refused", later("Never for")),
    ("care", later("With special care for")),
    ("restarts_at", later("Begins anew with")),
)
LISTS = (
    ("addresses", later("What it addresses")),
    ("does_not_cover", later("What it does not cover")),
    ("sources", later("Where the figures are from")),
)
WORDS = {
    "title": later("What it is about"),
    "stay_limit_s": later("Longest stay in one container"),
    "moves_least": later("Moves at least"),
    "span_least_s": later("From day 1 to the last move at least"),
    "slack_s": later("Slack of the fewest moves, each at its limit"),
    "warm_c": later("Warm is water above"),
    "warm_after_s": later("Warm for longer than this, the stay gets shorter"),
    "warm_limit_s": later("Longest stay in warm water"),
    "cold_c": later("Hours in water below this do not count"),
    "drying_s": later("Kept dry, from when somebody saw it dry"),
    "chlorine_mg_l_least": later("Chlorine at least, measured"),
    "contact_least_s": later("Contact with chlorine at least"),
    "observation_s": later("Observation"),
    "salinity_range": later("Salinity"),
    "temperature_range_c": later("Temperature"),
    "addresses": later("What it addresses"),
    "does_not_cover": later("What it does not cover"),
    "cautions": later("Cautions"),
    "sources": later("Where the figures are from"),
    "agents": later("What is given"),
    "given_with": later("What may be given with it"),
    "veterinarian": later("A veterinarian is"),
    "refused": later("Never for"),
    "care": later("With special care for"),
    "stop_signs": later("Stop at once when"),
    "agent": later("of what"),
    "least": later("at least"),
    "most": later("at most"),
    "unit": later("unit"),
    "basis": later("counted as"),
    "above_c": later("in water above"),
    "up_to_c": later("in water up to"),
    "least_s": later("at least"),
    "most_s": later("at most"),
    "doses": later("how often"),
    "apart_least_s": later("apart at least"),
    "apart_most_s": later("apart at most"),
    "ramp_least_s": later("brought up or down over at least"),
    "ramp_most_s": later("brought up or down over at most"),
    "what": later("what"),
    "every_s": later("every"),
    "temperature_most_c": later("no warmer than"),
    "oxygen_least_percent": later("oxygen at least"),
    "clear": later("clear, never cloudy"),
    "quantity": later("what is measured"),
    "range": later("counts between"),
    "needed_s": later("hours in range needed"),
    "restarts": later("a drop below starts it anew"),
    "gap_most_s": later("between readings at most"),
    "begins": later("from"),
    "reaches": later("down to"),
    "down_per_day_most": later("down in a day at most"),
    "up_per_day_most": later("up in a day at most"),
    "down_least_s": later("down over at least"),
    "up_least_s": later("up again over at least"),
    "organism": later("against what"),
    "days": later("days without fish"),
    "never_up_to_c": later("No figure is safe in water up to"),
    "restarts_at": later("Begins anew with"),
}
TABLES = {
    "dose": later("Dose"),
    "time": later("Time"),
    "watched": later("Watched"),
    "water": later("Water"),
    "clock": later("Clock"),
    "salinity": later("Salinity"),
    "step": later("Step"),
}
UNITS = {"_c": "\u00b0C", "_c_range": "\u00b0C", "_percent": "%", "_mg_l_least": "mg/L"}
SIZES = ((86400, later("days")), (3600, "h"), (60, "min"), (1, "s"))


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
            return _("not said")
        case bool():
            return _("yes") if value else _("no")
        case int() if place.endswith("_s"):
            size, word = size_of(value)
            return f"{Decimal(value) / size:f} {word}"
        case list() if is_range(value):
            return (
                _("{least} to {most} {unit}")
                .format(least=value[0], most=value[1], unit=unit_of(place))
                .strip()
            )
        case list():
            return "; ".join(plain(one) for one in value) or _("nothing")
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
    return _(
        "{moves_least} moves at most {hours} h apart, {days} h from day 1, "
        "then {days_2} days of observation"
    ).format(
        moves_least=found.moves_least, hours=hours, days=days, days_2=found.observation.days
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
    said = (
        f"{least}{unit}"
        if least == most
        else _("{least} to {most}{unit}").format(least=least, most=most, unit=unit)
    )
    for bound, words in ((one.above_c, _("above")), (one.up_to_c, _("up to"))):
        if bound is not None:
            said += _(" in water {words} {bound} °C").format(words=words, bound=bound)
    return _("{said}, counted as {basis}").format(said=said, basis=one.basis)


def _dose(one: Mapping[str, Any]) -> tuple[str, str]:
    name = _("Dose of {agent}").format(agent=plain(one["agent"]))
    for end, words in (("above_c", _("above")), ("up_to_c", _("up to"))):
        if end in one:
            name += _(", water {words} {one} °C").format(words=words, one=one[end])
    amount = (
        one["least"]
        if one["least"] == one["most"]
        else _("{least} to {most}").format(least=one["least"], most=one["most"])
    )
    unit = "" if one["unit"] == "1" else f" {one['unit']}"
    return name, _("{amount}{unit}, counted as {basis}").format(
        amount=amount, unit=unit, basis=one["basis"]
    )


def _watched(one: Mapping[str, Any]) -> tuple[str, str]:
    return _("Look at {what}").format(what=one["what"]), _("every {value}").format(
        value=value_words("every_s", one["every_s"])
    )


def _step(one: Mapping[str, Any]) -> tuple[str, str]:
    days = (
        _("{days} days without fish").format(days=one["days"])
        if "days" in one
        else _("no time is long enough")
    )
    return _("{organism}, water above {above_c} °C").format(
        organism=one["organism"], above_c=one["above_c"]
    ), days


LINES = {"dose": _dose, "watched": _watched, "step": _step}
