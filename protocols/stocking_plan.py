"""Who is to be put where, and what comes of it: the stocking answer with its warnings."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import cast
from uuid import UUID

from protocols.handling import Caution, Handled, cautions, handled, shelters
from protocols.ruled import Protocol, Range, Reason, Rules
from protocols.said import joined
from protocols.said import said as sentence
from protocols.stocking import answer
from protocols.stocking_answer import Answer, Binds
from protocols.stocking_forecast import (
    AERATED,
    ARRIVAL,
    MOVED,
    STILL,
    Animals,
    Conditions,
    Plan,
)
from protocols.stocking_values import (
    LENGTH_LEAST_CM,
    LENGTH_MOST_CM,
    Planned,
    planned,
    ration_percent_day,
)
from protocols.water.ph import PhScale

HOUR = timedelta(hours=1)
# Without a limit, e.g. in the observation, it is planned for as long as the longest stay.
WITHOUT_LIMIT = timedelta(hours=72)


@dataclass(frozen=True, slots=True)
class Kind:
    """So many of a species. `length_from` says where the length comes from: asked, counted."""

    name: str
    count: int
    groups: tuple[str, ...] = ()
    length_cm: float | None = None
    length_from: str | None = None


@dataclass(frozen=True, slots=True)
class Vessel:
    """A container as far as stocking goes: litres at its fill mark, lid and air stone."""

    uid: UUID
    label: str
    volume_l: Decimal
    lid: bool
    air_stone: bool


@dataclass(frozen=True, slots=True)
class Read:
    """What was read last in a container, near enough in time to count; else None."""

    temperature_c: float | None = None
    salinity: float | None = None
    ph: float | None = None
    ph_scale: str = "NBS"
    tan_mg_l: float | None = None


@dataclass(frozen=True, slots=True)
class Sized:
    """A kind with the values it was planned with; no mass where nobody knows a length."""

    kind: Kind
    values: Planned
    minded: frozenset[Handled]
    animals: Animals | None

    @property
    def shelters(self) -> int:
        return shelters(self.kind.count, self.minded)


@dataclass(frozen=True, slots=True)
class Stocked:
    """The answer for one container. None where a length is not known, or water cannot be so."""

    vessel: Vessel
    kinds: tuple[Sized, ...]
    water: Conditions
    plan: Plan
    answer: Answer | None
    cautions: tuple[Caution, ...]
    missing: str | None = None

    @property
    def warnings(self) -> tuple[Reason, ...]:
        """What is told beside a placement; none of it stands against it."""
        return tuple(_warnings(self))


def stocked(
    kinds: Sequence[Kind],
    vessel: Vessel,
    read: Read,
    *,
    rules: Rules,
    protocol: Protocol,
    arrival: bool,
) -> Stocked:
    """What becomes of these kinds in this container until the limit, `arrival`: out of bags.

    How many fit is told of the first kind, beside the others. Never raises: what cannot be
    worked out is said in `missing`.
    """
    sized = tuple(_sized(one, rules) for one in kinds)
    water = _conditions(vessel, read, rules, protocol)
    plan = Plan(
        hours=(protocol.stay_limit or WITHOUT_LIMIT) / HOUR,
        first_day=ARRIVAL if arrival else MOVED,
    )
    everything = frozenset(one for each in sized for one in each.minded)
    mixed = len({one.kind.name for one in sized}) > 1
    minding = cautions(everything, lid=vessel.lid, mixed=mixed)
    found, missing = _answer(sized, water, plan, rules)
    return Stocked(vessel, sized, water, plan, found, minding, missing)


def _answer(
    sized: Sequence[Sized], water: Conditions, plan: Plan, rules: Rules
) -> tuple[Answer | None, str | None]:
    animals = [one.animals for one in sized if one.animals]
    if not animals or len(animals) < len(sized):
        return None, "length"
    try:
        alarm = float(rules.nh3_n_alarm_mg_l)
        return answer(animals, water, plan, alarm_mg_l=alarm), None
    except ValueError:
        return None, "water"


def _sized(kind: Kind, rules: Rules) -> Sized:
    values = planned(kind.name, kind.groups, rules.planning)
    minded = handled(kind.name, kind.groups)
    length = kind.length_cm if kind.length_cm is not None else values.usual_length_cm
    if kind.length_cm is None and length is not None:
        kind = Kind(kind.name, kind.count, kind.groups, length, "usual")
    if length is None or not LENGTH_LEAST_CM <= length <= LENGTH_MOST_CM:
        return Sized(kind, values, minded, None)
    mass = values.mass_g(length)
    feed = values.feed_percent_day
    animals = Animals(
        count=kind.count,
        mass_g=mass,
        feed_percent_day=ration_percent_day(mass) if feed is None else feed,
        protein_fraction=values.protein_fraction,
        name=kind.name,
        minded=minded,
        mass_error=values.mass_error,
    )
    return Sized(kind, values, minded, animals)


def _conditions(vessel: Vessel, read: Read, rules: Rules, protocol: Protocol) -> Conditions:
    """As it was read; else the middle of the protocol's ranges, and the site's planning pH."""
    given: Mapping[str, float | None] = {
        "temperature": read.temperature_c,
        "salinity": read.salinity,
        "ph": read.ph,
    }
    otherwise = {
        "temperature": _middle(protocol.temperature_c),
        "salinity": _middle(protocol.salinity),
        "ph": float(rules.planning_ph),
    }
    known = {name: otherwise[name] if one is None else one for name, one in given.items()}
    return Conditions(
        volume_l=float(vessel.volume_l),
        temperature_c=known["temperature"],
        salinity=known["salinity"],
        ph=known["ph"],
        ph_scale=cast(PhScale, read.ph_scale),
        altitude_m=float(rules.altitude_m),
        exchange_per_h=AERATED if vessel.air_stone else STILL,
        tan_mg_l=read.tan_mg_l or 0.0,
        assumed=tuple(name for name, one in given.items() if one is None),
    )


def _middle(allowed: Range) -> float:
    return float((allowed.least + allowed.most) / 2)


# -- In words ----------------------------------------------------------------------------------


def _warnings(found: Stocked) -> Iterator[Reason]:
    if found.answer is not None and not found.answer.fits:
        yield Reason(
            "too_full",
            str(found.answer.binds),
            joined(" ", (outcome(found), *(one.text for one in found.answer.ways))),
            blocks=False,
            numbers={
                "asked": found.answer.asked,
                "most": found.answer.most,
                "nh3_n_mg_l": f"{found.answer.highest.nh3_n_mg_l:.3f}",
                "alarm_mg_l": f"{found.answer.alarm_mg_l:g}",
            },
            pointer="/container",
        )
    for one in found.cautions:
        if one.warns:
            yield Reason("mind_them", one.what, one.text, blocks=False, pointer="/container")


def outcome(found: Stocked) -> str:
    """One sentence or two: what will be, and whether they fit."""
    if found.answer is None:
        return MISSING[found.missing or "length"]
    said = found.answer
    if said.binds is Binds.ONE_PER_CELL and not said.fits:
        return sentence("They fight: {vessel} has one cell.", vessel=found.vessel.label)
    if said.binds is Binds.TOXIC_ALONE and not said.fits:
        return "They poison the water when stressed: never in a mixed lot."
    if said.binds is Binds.OXYGEN and not said.fits:
        return sentence(
            "Oxygen falls to {percent:.0f} % of saturation.", percent=said.oxygen.percent
        )
    if said.alarm_after_h is not None:
        after = f"{said.alarm_after_h:.0f} h"
        return sentence(
            "NH3-N reaches the alarm of {alarm_mg_l:g} mg/L after {after}.",
            alarm_mg_l=said.alarm_mg_l,
            after=after,
        )
    highest = f"{said.highest.nh3_n_mg_l:.3f}"
    return sentence(
        "NH3-N stays at {highest} mg/L or less, alarm {alarm_mg_l:g}.",
        highest=highest,
        alarm_mg_l=said.alarm_mg_l,
    )


MISSING = {
    "length": "Nobody measured how long they are: how many fit is not known.",
    "water": "What was read in this container cannot be so: how many fit is not known.",
}
