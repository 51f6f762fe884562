"""Whether the water of two containers matches, by readings that are fresh and trusted."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from protocols.clocks import elapsed_text
from protocols.judged import Reading
from protocols.ruled import Protocol, Range, Reason, Rules

SECOND = timedelta(seconds=1)
UNITS = {"salinity": "", "temperature": " C"}
MANAGER = ("manager",)


class Check(StrEnum):
    """Whether an instrument could be trusted at a moment."""

    GOOD = "good"
    DOUBTED = "doubted"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Checked:
    """An instrument compared with a standard."""

    at: datetime
    passed: bool


def in_check(checks: Sequence[Checked], reading_at: datetime, *, every: timedelta) -> Check:
    """Whether a reading at that moment can be trusted, by the checks before and after it.

    `checks` by time. A failed check throws doubt on everything since the last good one, so
    the next check after the reading matters too. Longer ago than `every` is unknown.
    """
    before = [one for one in checks if one.at <= reading_at]
    after = [one for one in checks if one.at > reading_at]
    if (before and not before[-1].passed) or (after and not after[0].passed):
        return Check.DOUBTED
    if not before or reading_at - before[-1].at > every:
        return Check.UNKNOWN
    return Check.GOOD


@dataclass(frozen=True, slots=True)
class Water:
    """The newest reading of each quantity in one container; salinity is practical salinity."""

    salinity: Reading | None = None
    temperature: Reading | None = None

    def pairs(self) -> tuple[tuple[str, Reading | None], ...]:
        return ("salinity", self.salinity), ("temperature", self.temperature)


@dataclass(frozen=True, slots=True)
class MatchRule:
    """How fresh readings must be, how far apart they may be, and in which range."""

    age_most: timedelta
    apart_most: dict[str, Decimal]
    ranges: dict[str, Range]

    @classmethod
    def of(cls, rules: Rules, protocol: Protocol) -> "MatchRule":
        return cls(
            timedelta(seconds=rules.reading_age_max_s),
            {"salinity": rules.match_salinity, "temperature": rules.match_temperature_c},
            {"salinity": protocol.salinity, "temperature": protocol.temperature_c},
        )


def match(
    source: Water | None, target: Water, *, rule: MatchRule, at: datetime
) -> tuple[Reason, ...]:
    """Everything that stands against moving from `source` into `target` at `at`.

    At a first placement `source` is None and only the target is looked at. Differences are
    exact: as much as allowed is allowed. If both readings are of one doubted instrument,
    their difference still means something and only the range does not.
    """
    found: list[Reason] = []
    sides = [("target", target)] if source is None else [("source", source), ("target", target)]
    for side, water in sides:
        for quantity, reading in water.pairs():
            found += _usable(side, quantity, reading, rule, at)
    for quantity, reading in target.pairs():
        found += _in_range(quantity, reading, rule)
    if source is not None:
        pairs = zip(source.pairs(), target.pairs(), strict=True)
        for (quantity, one), (_, two) in pairs:
            found += _apart(quantity, one, two, rule)
    return tuple(found)


def _usable(
    side: str, quantity: str, reading: Reading | None, rule: MatchRule, at: datetime
) -> Iterator[Reason]:
    numbers = {"side": side, "quantity": quantity}
    if reading is None:
        text = f"No reading of {quantity} in the {side}."
        yield Reason("reading_missing", "reading_missing", text, numbers=numbers)
        return
    numbers |= {"reading": str(reading.uid)}
    if (age := at - reading.at) > rule.age_most:
        text = (
            f"The reading of {quantity} in the {side} is {elapsed_text(age)} old, "
            f"at most {elapsed_text(rule.age_most)} counts."
        )
        seconds = {"age_s": age // SECOND, "most_s": rule.age_most // SECOND}
        yield Reason("reading_old", "reading_old", text, numbers=numbers | seconds)
    if reading.in_check != Check.GOOD:
        text = f"The instrument of the {quantity} reading in the {side} is not in check."
        yield _untrusted(reading, text, numbers)


def _untrusted(reading: Reading, text: str, numbers: dict[str, str]) -> Reason:
    """A failed instrument stands against a move; one long unchecked only warns."""
    doubted = reading.in_check == Check.DOUBTED
    return Reason(
        "instrument_failed" if doubted else "instrument_in_doubt",
        "instrument_in_doubt",
        text,
        blocks=doubted,
        numbers=numbers | {"in_check": str(reading.in_check)},
    )


def _in_range(quantity: str, reading: Reading | None, rule: MatchRule) -> Iterator[Reason]:
    allowed = rule.ranges[quantity]
    if reading is None or allowed.holds(reading.value):
        return
    unit = UNITS[quantity]
    yield Reason(
        "out_of_range",
        "out_of_range",
        f"{quantity.capitalize()} in the target is {reading.value}{unit}, allowed "
        f"{allowed.least} to {allowed.most}{unit}.",
        numbers={
            "quantity": quantity,
            "value": str(reading.value),
            "least": str(allowed.least),
            "most": str(allowed.most),
        },
        may_insist=MANAGER,
    )


def _apart(
    quantity: str, source: Reading | None, target: Reading | None, rule: MatchRule
) -> Iterator[Reason]:
    if source is None or target is None:
        return
    apart, most = target.value - source.value, rule.apart_most[quantity]
    if abs(apart) <= most:
        return
    # Going up is the risky way for fish, so the direction is named.
    direction, verb = ("higher", "lower") if apart > 0 else ("lower", "raise")
    unit, numbers = (
        UNITS[quantity],
        {
            "quantity": quantity,
            "source": str(source.value),
            "target": str(target.value),
            "difference": str(abs(apart)),
            "allowed": str(most),
            "direction": f"target_{direction}",
            "correction": f"{verb}_target",
        },
    )
    text = (
        f"{quantity.capitalize()} of the target is {abs(apart)}{unit} {direction} than in "
        f"the source, allowed {most}{unit}: {verb} the target, then read it again."
    )
    yield Reason("water_mismatch", "water_mismatch", text, numbers=numbers, may_insist=MANAGER)
