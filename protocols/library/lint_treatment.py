"""What is unsafe about a bath, a ramp or a dose."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from decimal import Decimal

from protocols.library.findings import ALWAYS, DAY, Finding, error, missing_cautions
from protocols.library.meeting import (
    COPPER,
    FORMALIN_COOL_C,
    FORMALIN_SOURCE,
    FORMALIN_WARM_MOST,
    OXYGEN_LEAST_PERCENT,
    PEROXIDE_SOURCE,
    WARM_C,
    may_meet,
)
from protocols.library.values import Agent, SalinityChange, Stage, Treatment, Veterinarian
from protocols.said import said

SECOND = timedelta(seconds=1)
DOWN_PER_DAY_MOST = Decimal("10")
UP_PER_DAY_MOST = Decimal("3")
SALINITY_LEAST = Decimal("11")
FORMALIN_MOST = Decimal("250")
FORMALIN_BATH_MOST = timedelta(minutes=60)
FORMALIN_LONG_MOST = Decimal("25")
# What is said in a unit that names no mass or volume means nothing.
UNITS = ("mg/L", "mL/m3", "g/m3", "1", "%")

DOSE_SOURCE = (
    "A figure without unit and basis was misread by factors of 2.5 and more (formalin)"
)
SALINITY_SOURCE = (
    "Noga 2010 (recalled): down by at most 10 per day, up by at most 2 to 3; distress of "
    "anemonefish at 8, death at 7 (abstract)"
)
VET_SOURCE = "Prescription medicines in the United States, the EU and the UK; local law decides"
COPPER_SOURCE = "Copper in marine systems, UF/IFAS FA165"
REFUSED_SOURCE = "Copper in marine systems, UF/IFAS FA165; lists of public aquaria (recalled)"
OWN_CAUTIONS: Mapping[Agent, tuple[str, ...]] = {
    Agent.COPPER_IONIC: ("copper", "invertebrates"),
    Agent.COPPER_CHELATED: ("copper", "invertebrates"),
    Agent.CHLOROQUINE: ("chloroquine", "prescri"),
    Agent.FORMALIN: ("formalin", "gloves", "ventilation"),
    Agent.FRESH_WATER: ("fresh water", "chlorine"),
    Agent.HYPOSALINITY: ("copper", "refractometer"),
    Agent.PRAZIQUANTEL: ("praziquantel", "oxygen"),
    Agent.PEROXIDE: ("peroxide", "gloves"),
}
NEEDS_VETERINARIAN = frozenset({Agent.CHLOROQUINE, Agent.PRAZIQUANTEL})
REFUSED: Mapping[Agent, tuple[str, ...]] = {
    Agent.COPPER_IONIC: ("invertebrates", "sharks", "rays"),
    Agent.COPPER_CHELATED: ("invertebrates", "sharks", "rays"),
    Agent.CHLOROQUINE: ("invertebrates",),
    Agent.FORMALIN: ("sharks", "rays"),
    Agent.HYPOSALINITY: ("invertebrates", "sharks", "rays"),
}


def about_treatment(found: Treatment) -> Iterator[Finding]:
    """Every finding about something that is given to animals."""
    yield from _doses(found)
    yield from _meetings(found)
    if Agent.FORMALIN in found.agents:
        yield from _formalin(found)
    if Agent.PEROXIDE in found.agents:
        yield from _peroxide(found)
    yield from _salinity(found)
    yield from _people(found)
    own = {one.value: OWN_CAUTIONS[one] for one in found.agents if one in OWN_CAUTIONS}
    yield from missing_cautions(found.cautions, {**ALWAYS, **own})


def _doses(found: Treatment) -> Iterator[Finding]:
    for one in found.doses:
        agent = one.agent.value
        if one.unit not in UNITS:
            text = said(
                "The dose of {agent} has no unit that is known: {listed}.",
                agent=agent,
                listed=", ".join(UNITS),
            )
            yield error("dose_without_unit", text, DOSE_SOURCE, agent=agent, unit=one.unit)
        if not one.basis:
            text = said("The dose of {agent} does not say as what it is counted.", agent=agent)
            yield error("dose_without_basis", text, DOSE_SOURCE, agent=agent)
        if one.agent not in found.agents:
            text = said("A dose of {agent}, which it says nothing else of.", agent=agent)
            yield error("dose_of_another", text, DOSE_SOURCE, agent=agent)
    for agent in set(found.agents) - {one.agent for one in found.doses}:
        text = said("It gives {agent} without saying how much.", agent=agent.value)
        yield error("dose_missing", text, DOSE_SOURCE, agent=agent.value)
    clock = found.clock
    if clock and not any(
        clock.allowed.least <= one.amount.most and one.amount.least <= clock.allowed.most
        for one in found.doses
    ):
        text = "The range in which hours count holds none of the doses."
        yield error("clock_beside_dose", text, DOSE_SOURCE)


def _meetings(found: Treatment) -> Iterator[Finding]:
    """What it gives, and what it says may be given with it."""
    for one in may_meet({*found.agents, *found.given_with}):
        yield error(one.rule, one.text, one.source, **one.numbers)


def _formalin(found: Treatment) -> Iterator[Finding]:
    warm, oxygen = found.water.temperature_most_c, found.water.oxygen_least_percent
    if warm is None or warm > WARM_C:
        text = said("Formalin is not kept out of water above {warm_c} C.", warm_c=WARM_C)
        yield error("formalin_warm", text, FORMALIN_SOURCE, bound_c=str(WARM_C))
    if not found.water.clear:
        text = "Formalin is not kept out of cloudy water."
        yield error("formalin_cloudy", text, FORMALIN_SOURCE)
    if oxygen is None or oxygen < OXYGEN_LEAST_PERCENT:
        text = said(
            "Formalin is not kept out of water with less than {oxygen_least_percent} % oxygen.",
            oxygen_least_percent=OXYGEN_LEAST_PERCENT,
        )
        bound = str(OXYGEN_LEAST_PERCENT)
        yield error("formalin_oxygen", text, FORMALIN_SOURCE, bound_percent=bound)
    for one in found.doses:
        if one.agent is not Agent.FORMALIN:
            continue
        if one.unit != "mL/m3":
            text = "Formalin is said in mL of the solution per cubic metre: else 2.5 times off."
            yield error("formalin_unit", text, DOSE_SOURCE, unit=one.unit)
            continue
        cool = one.up_to_c is not None and one.up_to_c <= FORMALIN_COOL_C
        most = FORMALIN_MOST if cool else FORMALIN_WARM_MOST
        if one.amount.most > most:
            where = (
                said("up to {formalin_cool_c} C", formalin_cool_c=FORMALIN_COOL_C)
                if cool
                else said("above {formalin_cool_c} C", formalin_cool_c=FORMALIN_COOL_C)
            )
            text = said(
                "{most} mL/m3 of formalin; {most_2} are the most {where}.",
                most=one.amount.most,
                most_2=most,
                where=where,
            )
            numbers = {"dose": str(one.amount.most), "most": str(most)}
            yield error("formalin_strong", text, FORMALIN_SOURCE, **numbers)
        lasts = found.times.most or found.times.least
        if one.amount.most > FORMALIN_LONG_MOST and lasts > FORMALIN_BATH_MOST:
            text = "A strong bath of formalin is never longer than 60 min."
            minutes = lasts // timedelta(minutes=1)
            yield error(
                "formalin_long", text, FORMALIN_SOURCE, minutes=minutes, most_minutes=60
            )


def _peroxide(found: Treatment) -> Iterator[Finding]:
    warm = found.water.temperature_most_c
    if warm is None or warm > WARM_C:
        text = said("Peroxide is not kept out of water above {warm_c} C.", warm_c=WARM_C)
        yield error("peroxide_warm", text, PEROXIDE_SOURCE, bound_c=str(WARM_C))


def _salinity(found: Treatment) -> Iterator[Finding]:
    if Agent.HYPOSALINITY not in found.agents:
        return
    for one in found.doses:
        if one.agent is Agent.HYPOSALINITY and one.amount.least < SALINITY_LEAST:
            text = said(
                "Salinity down to {least}; {salinity_least} is the least known.",
                least=one.amount.least,
                salinity_least=SALINITY_LEAST,
            )
            numbers = {"least": str(one.amount.least), "bound": str(SALINITY_LEAST)}
            yield error("hyposalinity_low", text, SALINITY_SOURCE, **numbers)
    if found.change is None:
        text = "It does not say how fast salinity goes down and up again."
        yield error("hyposalinity_speed_unsaid", text, SALINITY_SOURCE)
    else:
        yield from _speed(found.change)


def _speed(change: SalinityChange) -> Iterator[Finding]:
    """By the figures said, and by the time allowed, which must not contradict them."""
    step = change.begins - change.reaches
    down, up = (
        max(said, step * (DAY // SECOND) / (least // SECOND))
        for said, least in (
            (change.down_per_day_most, change.down_least),
            (change.up_per_day_most, change.up_least),
        )
    )
    if down > DOWN_PER_DAY_MOST:
        text = said(
            "Salinity may fall by {down:.1f} in a day; {down_per_day_most} are the most.",
            down=down,
            down_per_day_most=DOWN_PER_DAY_MOST,
        )
        numbers = {"per_day": f"{down:.1f}", "most_per_day": str(DOWN_PER_DAY_MOST)}
        yield error("hyposalinity_down_fast", text, SALINITY_SOURCE, **numbers)
    if up > UP_PER_DAY_MOST:
        text = said(
            "Salinity may rise by {up:.1f} in a day; {up_per_day_most} are the most.",
            up=up,
            up_per_day_most=UP_PER_DAY_MOST,
        )
        numbers = {"per_day": f"{up:.1f}", "most_per_day": str(UP_PER_DAY_MOST)}
        yield error("hyposalinity_up_fast", text, SALINITY_SOURCE, **numbers)


def _people(found: Treatment) -> Iterator[Finding]:
    """Who has to say so, which animals never, and whether anybody looks."""
    for one in sorted(NEEDS_VETERINARIAN & set(found.agents)):
        if found.veterinarian is not Veterinarian.NEEDED:
            text = said("{value} is given without a veterinarian.", value=one.value)
            yield error("veterinarian_missing", text, VET_SOURCE, agent=one.value)
    for one in found.agents:
        for group in sorted(set(REFUSED.get(one, ())) - set(found.refused)):
            text = said(
                "{value} harms or kills {group}, and they are not refused.",
                value=one.value,
                group=group,
            )
            yield error("refusal_missing", text, REFUSED_SOURCE, agent=one.value, group=group)
    for one in sorted(set(COPPER) & set(found.agents)):
        if found.clock is None or not found.clock.restarts:
            text = said(
                "Hours of {value} count without a test, or through a drop.", value=one.value
            )
            yield error("clock_missing", text, COPPER_SOURCE, agent=one.value)
    if found.stage is Stage.RAMP and found.times.ramp_least is None:
        text = "It does not say how slowly it is brought up or down."
        yield error("ramp_unsaid", text, DOSE_SOURCE)
