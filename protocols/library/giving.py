"""May this be given to these animals, in this water, with what is in it already?"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from protocols.library.meeting import WaterNow, may_meet
from protocols.library.values import Agent, Treatment, Veterinarian
from protocols.ruled import Reason
from protocols.said import said

PRESCRIBER = ("veterinarian",)
# Water below this is outside what reef fish are kept in, and copper is more poisonous there.
SALINITY_LOW = Decimal("27")
# What a product is, by words that people type; the longer ones first.
NAMES: Mapping[str, Agent] = {
    "chelated copper": Agent.COPPER_CHELATED,
    "copper": Agent.COPPER_IONIC,
    "chloroquine": Agent.CHLOROQUINE,
    "formalin": Agent.FORMALIN,
    "formaldehyde": Agent.FORMALIN,
    "praziquantel": Agent.PRAZIQUANTEL,
    "peroxide": Agent.PEROXIDE,
    "bleach": Agent.BLEACH,
    "hypochlorite": Agent.BLEACH,
    "vinegar": Agent.ACID,
    "acid": Agent.ACID,
    "ammonia water": Agent.AMMONIA_WATER,
    "ammonia binder": Agent.REDUCING_BINDER,
    "ammonia remover": Agent.REDUCING_BINDER,
    "thiosulfate": Agent.REDUCING_BINDER,
    "dechlorinator": Agent.REDUCING_BINDER,
    "conditioner": Agent.REDUCING_BINDER,
}


@dataclass(frozen=True, slots=True)
class Animals:
    """Animals that share the water: their species as people name it, and its groups."""

    name: str
    groups: frozenset[str]


@dataclass(frozen=True, slots=True)
class DoseAsked:
    """What is to be given: a product, how much, and whether it was prescribed."""

    product: str
    amount: Decimal
    unit: str
    prescribed: bool


@dataclass(frozen=True, slots=True)
class WaterWith:
    """The water that it goes into, as last measured, and what was put into it before."""

    now: WaterNow
    salinity: Decimal | None = None
    before: frozenset[Agent] = frozenset()


def agents_in(product: str) -> frozenset[Agent]:
    """What a typed product is known to be; nothing for a name that says nothing."""
    said = product.lower()
    for name, agent in NAMES.items():
        if name in said:
            return frozenset({agent})
    return frozenset()


def may_give(
    asked: DoseAsked,
    by: Treatment | None,
    animals: Collection[Animals],
    water: WaterWith,
    roles: Collection[str],
) -> Iterator[Reason]:
    """Everything that stands against a dose, under a version or by itself.

    A veterinarian may set aside, with a reason that is recorded, who needs to say so, which
    groups are refused and how much is given; nobody may mix what must not meet.
    """
    if by is not None:
        yield from _veterinarian(asked, by, roles)
        yield from _refused(by, animals)
        yield from _amount(asked, by, water.now)
        yield from _water(by, water.now)
    agents = set(by.agents) if by is not None else agents_in(asked.product)
    low = water.salinity is not None and water.salinity < SALINITY_LOW
    there = {*water.before, *({Agent.HYPOSALINITY} if low else ())}
    strength = asked.amount if asked.unit == "mL/m3" else None
    # What was there before is nobody's doing now: only what this dose adds to it is refused.
    known = {one.rule for one in may_meet(there)}
    for one in may_meet(agents | there, water.now, formalin_ml_m3=strength):
        if one.rule not in known:
            numbers = {**one.numbers, "source": one.source}
            yield Reason("must_not_meet", one.rule, one.text, numbers=numbers)


def never_right(
    asked: DoseAsked, by: Treatment, animals: Collection[Animals]
) -> Iterator[Reason]:
    """What stands against a dose whatever the water was: whom the version is never for, and
    more than it gives at any temperature. For judging what was given long ago."""
    yield from _refused(by, animals)
    given = [one.amount.most for one in by.doses if one.unit == asked.unit]
    if given and asked.amount > max(given):
        yield _too_much(asked, by, max(given))


def _veterinarian(asked: DoseAsked, by: Treatment, roles: Collection[str]) -> Iterator[Reason]:
    needed = by.veterinarian is Veterinarian.NEEDED
    if needed and not asked.prescribed and "veterinarian" not in roles:
        text = said("{title} needs a veterinarian: name the prescription.", title=by.title)
        yield Reason(
            "veterinarian_needed",
            "veterinarian_needed",
            text,
            may_insist=PRESCRIBER,
            pointer="/prescription",
        )


def _refused(by: Treatment, animals: Collection[Animals]) -> Iterator[Reason]:
    refused = {one.lower() for one in by.refused}
    for one in animals:
        for group in sorted(refused & {name.lower() for name in one.groups}):
            text = said(
                "{title} is never for {group}: {name}.",
                title=by.title,
                group=group,
                name=one.name,
            )
            numbers = {"group": group, "species": one.name}
            yield Reason(
                "group_refused", "group_refused", text, numbers=numbers, may_insist=PRESCRIBER
            )


def _amount(asked: DoseAsked, by: Treatment, now: WaterNow) -> Iterator[Reason]:
    """Only where it is said in the unit of the dose: a product's own unit says nothing."""
    warm = now.temperature_c
    fitting = [
        one.amount.most
        for one in by.doses
        if one.unit == asked.unit
        and not (warm is not None and one.above_c is not None and warm <= one.above_c)
        and not (warm is not None and one.up_to_c is not None and warm > one.up_to_c)
    ]
    most = min(fitting, default=None) if warm is None else max(fitting, default=None)
    if most is not None and asked.amount > most:
        yield _too_much(asked, by, most)


def _too_much(asked: DoseAsked, by: Treatment, most: Decimal) -> Reason:
    text = said(
        "{amount} {unit}; at most {most} by {key}.",
        amount=asked.amount,
        unit=asked.unit,
        most=most,
        key=by.key,
    )
    numbers = {"amount": str(asked.amount), "most": str(most), "unit": asked.unit}
    return Reason(
        "dose_too_much",
        "dose_too_much",
        text,
        numbers=numbers,
        may_insist=PRESCRIBER,
        pointer="/amount",
    )


def _water(by: Treatment, now: WaterNow) -> Iterator[Reason]:
    """Where the version asks something of the water, it has to be measured and so."""
    asked = by.water
    if asked.temperature_most_c is not None:
        if now.temperature_c is None:
            yield _unmeasured("temperature", by)
        elif now.temperature_c > asked.temperature_most_c:
            text = said(
                "{temperature_c} C; at most {temperature_most_c} by {key}.",
                temperature_c=now.temperature_c,
                temperature_most_c=asked.temperature_most_c,
                key=by.key,
            )
            yield _outside("temperature", text, now.temperature_c, asked.temperature_most_c)
    least = asked.oxygen_least_percent
    if least is not None and now.oxygen_percent is not None and now.oxygen_percent < least:
        text = said(
            "{oxygen_percent} % oxygen; at least {least} by {key}.",
            oxygen_percent=now.oxygen_percent,
            least=least,
            key=by.key,
        )
        yield _outside("oxygen_saturation", text, now.oxygen_percent, least)


def _unmeasured(quantity: str, by: Treatment) -> Reason:
    text = said(
        "Measure {quantity} first: {title} depends on it.", quantity=quantity, title=by.title
    )
    numbers = {"quantity": quantity}
    return Reason("reading_missing", "dose_water", text, numbers=numbers, may_insist=PRESCRIBER)


def _outside(quantity: str, text: str, got: Decimal, bound: Decimal) -> Reason:
    numbers = {"quantity": quantity, "got": str(got), "bound": str(bound)}
    return Reason("out_of_range", "dose_water", text, numbers=numbers, may_insist=PRESCRIBER)
