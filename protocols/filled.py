"""What is in a container before animals come: which makes, and what stands against them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from protocols.makes import Make, MakeChecked, fit_for_fish, standing
from protocols.ruled import Reason, Rules
from protocols.told import Happening
from protocols.uids import as_uid

DRAWS = frozenset({"filled", "water_changed", "topped_up"})
# After these the water that was in a container is there no more.
EMPTIES = frozenset({"emptied", "disinfected", "seen_dry"})


@dataclass(frozen=True, slots=True)
class MakeKnown:
    """A make as it is known, with what was measured of it again."""

    make: Make
    checks: tuple[MakeChecked, ...] = ()


@dataclass(frozen=True, slots=True)
class Filling:
    """Water of a make that is in a container; `chlorine_tested`: there, after it came."""

    make: UUID
    at: datetime
    chlorine_tested: bool = False


def fillings(told: Iterable[Happening], container: UUID, at: datetime) -> tuple[Filling, ...]:
    """The makes whose water stands in the container at `at`, by the time it was drawn."""
    known = sorted(
        (one for one in told if one.when.earliest <= at and _concerns(one, container)),
        key=lambda one: (one.when.earliest, one.kind in DRAWS, one.uid),
    )
    found: list[Filling] = []
    for one in known:
        if one.kind in EMPTIES:
            found = []
        elif one.kind in DRAWS and "make" in one.body:
            found.append(Filling(as_uid(one.body["make"]), one.when.earliest))
        if _tests_chlorine(one):
            found = [replace(each, chlorine_tested=True) for each in found]
    return tuple(found)


def make_reasons(
    found: Sequence[Filling], makes: Mapping[UUID, MakeKnown], rules: Rules, at: datetime
) -> tuple[Reason, ...]:
    """What stands against animals in this water at `at`: of each rule the worst make.

    Chlorine is that of the make when it was drawn; what was done in the vat since did not
    reach the container.
    """
    worst: dict[str, Reason] = {}
    for one in sorted(found, key=lambda each: _badness(each, makes)):
        if known := makes.get(one.make):
            drawn = replace(standing(known.make, known.checks, (), one.at), at=at)
            reasons = fit_for_fish(drawn, rules, chlorine_tested=one.chlorine_tested)
            worst |= {reason.rule: reason for reason in reasons}
    return tuple(worst.values())


def _badness(one: Filling, makes: Mapping[UUID, MakeKnown]) -> tuple[datetime, UUID]:
    known = makes.get(one.make)
    return (known.make.mixed_at if known else one.at), one.make


def _concerns(one: Happening, container: UUID) -> bool:
    named = {as_uid(uid) for uid in one.body.get("subjects", ())}
    there = one.body.get("container")
    return container in named or (there is not None and as_uid(there) == container)


def _tests_chlorine(one: Happening) -> bool:
    if one.kind == "reading_taken":
        return bool(one.body["quantity"] == "total_chlorine")
    return one.kind == "filled" and "total_chlorine_mg_l" in one.body
