"""Whether the water of two containers matches, by readings that are fresh and trusted."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from protocols.clocks import elapsed_text
from protocols.judged import Reading
from protocols.ruled import Protocol, Range, Reason, Rules
from protocols.said import said

SECOND = timedelta(seconds=1)
UNITS = {"salinity": "", "temperature": " C"}
MANAGER = ("manager",)
# What a judgement by an instrument in doubt is worth.
HOLDS, IN_DOUBT = "holds", "in_doubt"


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
    exact: as much as allowed is allowed. Where an instrument is in doubt, two judgements are
    said apart: `range`, which is in doubt, and `difference`, which holds if one instrument
    read both sides.
    """
    found: list[Reason] = []
    sides = [("target", target)] if source is None else [("source", source), ("target", target)]
    for side, water in sides:
        for quantity, reading in water.pairs():
            found += _usable(
                side, quantity, reading, rule, at, _worth(quantity, source, target)
            )
    for quantity, reading in target.pairs():
        found += _in_range(quantity, reading, rule)
    if source is not None:
        pairs = zip(source.pairs(), target.pairs(), strict=True)
        for (quantity, one), (_, two) in pairs:
            found += _apart(quantity, one, two, rule)
    return tuple(found)


def _usable(
    side: str,
    quantity: str,
    reading: Reading | None,
    rule: MatchRule,
    at: datetime,
    worth: Mapping[str, str],
) -> Iterator[Reason]:
    numbers = {"side": side, "quantity": quantity}
    if reading is None:
        text = said("No reading of {quantity} in the {side}.", quantity=quantity, side=side)
        yield Reason("reading_missing", "reading_missing", text, numbers=numbers)
        return
    numbers |= {"reading": str(reading.uid)}
    if (age := at - reading.at) > rule.age_most:
        text = said(
            "The reading of {quantity} in the {side} is {age} old, at most {age_most} counts.",
            quantity=quantity,
            side=side,
            age=elapsed_text(age),
            age_most=elapsed_text(rule.age_most),
        )
        seconds = {"age_s": age // SECOND, "most_s": rule.age_most // SECOND}
        yield Reason("reading_old", "reading_old", text, numbers=numbers | seconds)
    if reading.in_check != Check.GOOD:
        text = said(
            "The instrument of the {quantity} reading in the {side} is not in check.",
            quantity=quantity,
            side=side,
        )
        yield _untrusted(reading, text, {**numbers, **worth})


def _worth(quantity: str, source: Water | None, target: Water) -> Mapping[str, str]:
    """What may still be said by an instrument in doubt: the range not; the difference, where
    the same one read both sides and so was wrong by as much."""
    if source is None:
        return {"range": IN_DOUBT}
    one, two = dict(source.pairs())[quantity], dict(target.pairs())[quantity]
    if one is None or two is None or one.instrument is None:
        return {"range": IN_DOUBT, "difference": IN_DOUBT}
    same = one.instrument == two.instrument
    return {"range": IN_DOUBT, "difference": HOLDS if same else IN_DOUBT}


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


def doubts_together(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """The same reasons with one about instruments in doubt: the worst, for every quantity.

    The difference holds if it holds for each of them.
    """
    doubts = [one for one in reasons if one.rule == "instrument_in_doubt"]
    if not doubts:
        return tuple(reasons)
    worst = [one for one in doubts if one.blocks] or doubts
    told = {str(one.numbers.get("quantity")): one for one in worst}
    numbers = {**worst[0].numbers, "quantity": ", ".join(sorted(told))}
    numbers.pop("side", None)
    if IN_DOUBT in {one.numbers.get("difference") for one in worst}:
        numbers["difference"] = IN_DOUBT
    others = [one for one in reasons if one.rule != "instrument_in_doubt"]
    return (*others, replace(worst[0], numbers=numbers))


def _in_range(quantity: str, reading: Reading | None, rule: MatchRule) -> Iterator[Reason]:
    allowed = rule.ranges[quantity]
    if reading is None or allowed.holds(reading.value):
        return
    unit = UNITS[quantity]
    yield Reason(
        "out_of_range",
        "out_of_range",
        said(
            "{quantity} in the target is {reading}{unit}, allowed {least} to {most}{unit}.",
            quantity=quantity.capitalize(),
            reading=reading.value,
            unit=unit,
            least=allowed.least,
            most=allowed.most,
        ),
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
    text = said(
        "{quantity} of the target is {apart}{unit} {direction} than in the "
        "source, allowed {most}{unit}: {verb} the target, then read it again.",
        quantity=quantity.capitalize(),
        apart=abs(apart),
        unit=unit,
        direction=direction,
        most=most,
        verb=verb,
    )
    yield Reason("water_mismatch", "water_mismatch", text, numbers=numbers, may_insist=MANAGER)
