"""What is unsafe about a series of moves."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from protocols.library.biology import (
    HATCH,
    HATCH_SOURCE,
    STAY_SOURCE,
    earliest_hatch,
    longest_on_fish,
)
from protocols.library.findings import (
    ALWAYS,
    CLEANING,
    HOUR,
    SPINES,
    Finding,
    error,
    missing_cautions,
    warning,
)
from protocols.library.lint_time import about_days
from protocols.ruled import Protocol
from protocols.said import said as sentence

SLACK_LEAST = 4 * HOUR
WARM_AFTER_MOST = 6 * HOUR
DRYING_LEAST = 24 * HOUR
CHLORINE_KILLS = Decimal("60")
CHLORINE_USUAL = Decimal("200")
CONTACT_LEAST = HOUR
# Above it development is badly damaged, and so are reef fish; nothing is known to hold there.
TEMPERATURE_MOST_C = Decimal("32.0")

SPAN_SOURCE = "Arithmetic of the definition: moves x limit against the least span"
KILL_SOURCE = (
    "Hirazawa et al. 2003 (by its abstract): fully dry for 24 h and chlorine from 60 mg/L on "
    "killed all cysts, 12 mg/L did not; contact of 1 h or 24 h"
)
ADDRESSED = "cryptocaryon"
NOT_COVERED = ("velvet", "flukes", "brooklynella", "uronema", "bacteria", "viruses")
CLAIM_SOURCE = (
    "Practice of keepers: the cycle of velvet is too fast for moves, Brooklynella and flukes "
    "need not leave the fish, Uronema needs no fish"
)
HEAT_SOURCE = "Yoshinaga 2001, Fish Pathology 36:231-235: normal at 31 C, badly damaged at 34 C"


def about_moves(found: Protocol) -> Iterator[Finding]:
    """Every finding about a version of moves."""
    yield from _claims(found)
    yield from _gaps(found)
    yield from _length(found)
    yield from _slack(found)
    yield from _cleaning(found)
    yield from about_days(found.observation)
    needed = {**ALWAYS, **CLEANING, **SPINES}
    yield from missing_cautions(found.cautions, needed)


def _claims(found: Protocol) -> Iterator[Finding]:
    """What certificates will say: moves stop one parasite, and are silent about no other."""
    for one in found.addresses:
        if ADDRESSED not in one.lower():
            text = sentence(
                "Moves are known to stop {addressed} alone, not: {one}",
                addressed=ADDRESSED.capitalize(),
                one=one,
            )
            yield error("claims_too_much", text, CLAIM_SOURCE, claim=one)
    said = " ".join(found.does_not_cover).lower()
    for name in NOT_COVERED:
        if name not in said:
            text = sentence("It does not say that it does not cover {name}.", name=name)
            yield error("not_covered_unsaid", text, CLAIM_SOURCE, organism=name)


def _gaps(found: Protocol) -> Iterator[Finding]:
    """The longest stay against the earliest hatch, below and above where the limit comes down.

    `warm_c` decides where the long limit still holds, whatever range is asked of the water: a
    heater that fails asks nobody.
    """
    hatch = earliest_hatch(found.warm_c)
    if found.stay_limit > hatch:
        yield error(
            "gap_over_hatch",
            sentence(
                "Cysts may hatch after {hatch} h in water of {warm_c} C: a stay of "
                "{stay_limit} h is longer.",
                hatch=_h(hatch),
                warm_c=found.warm_c,
                stay_limit=_h(found.stay_limit),
            ),
            HATCH_SOURCE,
            limit_h=_h(found.stay_limit),
            hatch_h=_h(hatch),
            temperature_c=str(found.warm_c),
        )
    warmest = HATCH[-1][1]
    if found.warm_limit > warmest:
        yield error(
            "warm_gap_over_hatch",
            sentence(
                "In warm water cysts may hatch after {warmest} h: a stay of "
                "{warm_limit} h is longer.",
                warmest=_h(warmest),
                warm_limit=_h(found.warm_limit),
            ),
            HATCH_SOURCE,
            limit_h=_h(found.warm_limit),
            hatch_h=_h(warmest),
        )
    if found.warm_after > WARM_AFTER_MOST and found.stay_limit > warmest:
        yield error(
            "warm_too_late",
            sentence(
                "The limit comes down only after {warm_after} h of warm water.",
                warm_after=_h(found.warm_after),
            ),
            HATCH_SOURCE,
            after_h=_h(found.warm_after),
            most_h=_h(WARM_AFTER_MOST),
        )
    if found.temperature_c.most > TEMPERATURE_MOST_C:
        yield error(
            "too_warm",
            sentence("Water of up to {most} C is allowed.", most=found.temperature_c.most),
            HEAT_SOURCE,
            most_c=str(found.temperature_c.most),
            bound_c=str(TEMPERATURE_MOST_C),
        )


def _length(found: Protocol) -> Iterator[Finding]:
    """The least span against the longest stay on the fish, in the coldest water that counts."""
    coldest = found.cold_c
    longest = longest_on_fish(coldest)
    if longest is None:
        yield error(
            "stay_unknown",
            sentence(
                "Hours in water of {coldest} C count, but nobody knows how long the "
                "parasite stays on the fish there.",
                coldest=coldest,
            ),
            STAY_SOURCE,
            temperature_c=str(coldest),
        )
    elif found.span_least < longest:
        yield error(
            "series_short",
            sentence(
                "The parasite stays on the fish for up to {longest} h in water of "
                "{coldest} C; the series may be done after {span_least} h.",
                longest=_h(longest),
                coldest=coldest,
                span_least=_h(found.span_least),
            ),
            STAY_SOURCE,
            span_h=_h(found.span_least),
            stay_h=_h(longest),
            temperature_c=str(coldest),
        )


def _slack(found: Protocol) -> Iterator[Finding]:
    slack, text = (
        found.slack,
        sentence("{moves_least} stays at their limit", moves_least=found.moves_least),
    )
    numbers = {"moves": found.moves_least, "slack_h": _h(slack)}
    if found.slack_said is not None and found.slack_said != slack:
        said = sentence(
            "It says {slack_said} h of slack; {text} leave {slack} h.",
            slack_said=_h(found.slack_said),
            text=text,
            slack=_h(slack),
        )
        yield error("slack_wrong", said, SPAN_SOURCE, said_h=_h(found.slack_said), **numbers)
    if slack < timedelta(0):
        said = sentence(
            "{text} end {value} h before the least span: it takes a move more.",
            text=text,
            value=_h(-slack),
        )
        yield error("moves_too_few", said, SPAN_SOURCE, **numbers)
    elif slack < SLACK_LEAST:
        said = sentence(
            "{text} leave {slack} h of slack: after any early move a series "
            "needs {moves_least} moves. Plan with {moves_least}.",
            text=text,
            slack=_h(slack),
            moves_least=found.moves_least + 1,
        )
        # The first versions had no place where to say it, and are frozen.
        unsaid = found.slack_said is None and found.title != ""
        say = error if unsaid else warning
        yield say("slack_unsaid" if unsaid else "slack_small", said, SPAN_SOURCE, **numbers)


def _cleaning(found: Protocol) -> Iterator[Finding]:
    rule = found.drying
    if rule.drying < DRYING_LEAST:
        yield error(
            "drying_short",
            sentence(
                "Kept dry for {drying} h; {drying_least} h are known to kill.",
                drying=_h(rule.drying),
                drying_least=_h(DRYING_LEAST),
            ),
            KILL_SOURCE,
            drying_h=_h(rule.drying),
            least_h=_h(DRYING_LEAST),
        )
    strength = rule.chlorine_mg_l_least
    if strength < CHLORINE_KILLS:
        yield error(
            "chlorine_weak",
            sentence(
                "Chlorine of {strength} mg/L: {chlorine_kills} are the least known to kill.",
                strength=strength,
                chlorine_kills=CHLORINE_KILLS,
            ),
            KILL_SOURCE,
            mg_per_l=str(strength),
            least_mg_per_l=str(CHLORINE_KILLS),
        )
    elif strength < CHLORINE_USUAL:
        yield warning(
            "chlorine_below_practice",
            sentence(
                "Chlorine of {strength} mg/L: practice is {chlorine_usual} for an hour.",
                strength=strength,
                chlorine_usual=CHLORINE_USUAL,
            ),
            KILL_SOURCE,
            mg_per_l=str(strength),
            usual_mg_per_l=str(CHLORINE_USUAL),
        )
    if rule.contact_least < CONTACT_LEAST:
        yield error(
            "contact_short",
            sentence(
                "A contact of {contact_least} min; an hour is the shortest that was tried.",
                contact_least=rule.contact_least // timedelta(minutes=1),
            ),
            KILL_SOURCE,
            contact_s=rule.contact_least // timedelta(seconds=1),
        )


def _h(value: timedelta) -> str:
    """Hours as people write them: 72, or 71.5."""
    hours = Decimal(value // timedelta(seconds=1)) / 3600
    return f"{hours.quantize(Decimal('0.01')).normalize():f}"
