"""A make of water: what is left of it, how it was measured last, whether it is fit for fish.

Figures: litres, practical salinity, degrees Celsius, milligrams of total chlorine in a litre.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import elapsed_text
from protocols.readiness import CHLORINE_NIL_BELOW
from protocols.ruled import Range, Reason, Rules
from protocols.said import said

SECOND = timedelta(seconds=1)
MANAGER = ("manager",)
# A vat is read off a scale and a container to its mark, each to a few per cent; over many
# fills that adds up. So a make may give a twentieth more than was told of it.
OFF_FRACTION = Decimal("0.05")
OFF_LEAST_L = Decimal(1)
# What a slip of the pen cannot be: figures of a make, a check or a fill.
BOUNDS: Mapping[str, Range] = {
    "volume_l": Range(Decimal("0.001"), Decimal(1_000_000)),
    "salinity": Range(Decimal(0), Decimal(50)),
    "temperature_c": Range(Decimal(-2), Decimal(45)),
    "total_chlorine_mg_l": Range(Decimal(0), Decimal(10_000)),
    "salt_kg": Range(Decimal(0), Decimal(100_000)),
    "mass_kg": Range(Decimal(0), Decimal(100_000)),
    "dry_fraction": Range(Decimal("0.01"), Decimal(1)),
    "strength_percent": Range(Decimal("0.1"), Decimal(100)),
    "density_g_ml": Range(Decimal("0.8"), Decimal("1.5")),
}
# What is poured away is measured as nothing left.
CHECKED_BOUNDS = {**BOUNDS, "volume_l": Range(Decimal(0), Decimal(1_000_000))}


@dataclass(frozen=True, slots=True)
class Make:
    """One mixing of salt water, as it was told when it was made."""

    uid: UUID
    vat: str
    volume_l: Decimal
    salinity: Decimal
    temperature_c: Decimal
    total_chlorine_mg_l: Decimal
    made_at: datetime
    mixed_at: datetime
    aerated_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class MakeChecked:
    """What was measured again of a make; None is what was not."""

    at: datetime
    volume_l: Decimal | None = None
    salinity: Decimal | None = None
    temperature_c: Decimal | None = None
    total_chlorine_mg_l: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Drawn:
    """Water that went from a make into a container."""

    at: datetime
    volume_l: Decimal


@dataclass(frozen=True, slots=True)
class Standing:
    """A make as it stands at a moment. `left_l` is below zero where more was told to be
    drawn than there was."""

    make: Make
    at: datetime
    left_l: Decimal
    salinity: Decimal
    temperature_c: Decimal
    total_chlorine_mg_l: Decimal

    @property
    def off_l(self) -> Decimal:
        """By how much volumes that were read roughly may be off, in litres."""
        return max(OFF_LEAST_L, self.make.volume_l * OFF_FRACTION)

    @property
    def overdrawn_l(self) -> Decimal:
        """More than rough reading explains; 0 where it does."""
        over = -self.left_l
        return over if over > self.off_l else Decimal(0)

    @property
    def mixed(self) -> timedelta:
        return max(self.at - self.make.mixed_at, timedelta(0))


def standing(
    make: Make, checks: Sequence[MakeChecked], drawn: Sequence[Drawn], at: datetime
) -> Standing:
    """The make at `at`: the newest of what was measured, and what was not drawn since then.

    A check and a draw of the same second: the check was before.
    """
    known = sorted((one for one in checks if one.at <= at), key=lambda one: one.at)
    volume, since = make.volume_l, None
    figures = {name: getattr(make, name) for name in FIGURES}
    for one in known:
        if one.volume_l is not None:
            volume, since = one.volume_l, one.at
        told = {name: getattr(one, name) for name in FIGURES}
        figures |= {name: value for name, value in told.items() if value is not None}
    went = sum(
        (one.volume_l for one in drawn if one.at <= at and (since is None or one.at >= since)),
        Decimal(0),
    )
    return Standing(make, at, volume - went, **figures)


FIGURES = ("salinity", "temperature_c", "total_chlorine_mg_l")


def figure_faults(
    body: Mapping[str, Any], bounds: Mapping[str, Range] = BOUNDS
) -> Iterator[Reason]:
    """Every figure that cannot be one, with its value, what is allowed, and where it stands."""
    for name, allowed in bounds.items():
        if name in body and not allowed.holds(Decimal(body[name])):
            least, most = str(allowed.least), str(allowed.most)
            yield Reason(
                code="unreadable",
                rule="mixing",
                text=said(
                    "It must be from {least} to {most}, not {body}.",
                    least=least,
                    most=most,
                    body=body[name],
                ),
                numbers={"value": str(body[name]), "least": least, "most": most},
                pointer=f"/{name}",
            )


def bleach_faults(body: Mapping[str, Any]) -> Iterator[Reason]:
    """The same of a bottle of bleach; a strength by weight means nothing without a density."""
    yield from figure_faults(body)
    if str(body["strength_basis"]).endswith("w/w") and "density_g_ml" not in body:
        text = "A strength by weight needs the density of the product, in g/mL."
        yield Reason("unreadable", "mixing", text, pointer="/density_g_ml")


def draw_reasons(found: Standing, volume_l: Decimal) -> Iterator[Reason]:
    """Whether so much can be drawn, as far as rough volumes tell."""
    short = volume_l - found.left_l
    if short <= found.off_l:
        return
    yield Reason(
        code="water_short",
        rule="water_short",
        text=said(
            "Of the make in {vat} {max} L are left, {volume_l} L are asked for: "
            "check how much stands there.",
            vat=found.make.vat,
            max=shown(max(found.left_l, Decimal(0))),
            volume_l=shown(volume_l),
        ),
        numbers={
            "left_l": shown(found.left_l),
            "asked_l": shown(volume_l),
            "short_l": shown(short),
            "off_l": shown(found.off_l),
        },
        pointer="/volume_l",
        may_insist=MANAGER,
    )


def fit_for_fish(
    found: Standing, rules: Rules, *, chlorine_tested: bool = False
) -> tuple[Reason, ...]:
    """What stands against animals in this water at the moment it stands for.

    Mixed as long as the site says, exactly so long included; total chlorine nil, unless it was
    tested in the container since (`chlorine_tested`).
    """
    reasons: list[Reason] = []
    least = timedelta(seconds=rules.mixed_least_s)
    if found.mixed < least:
        reasons.append(_young(found, least))
    if found.total_chlorine_mg_l >= CHLORINE_NIL_BELOW and not chlorine_tested:
        reasons.append(_chlorine(found))
    return tuple(reasons)


def _young(found: Standing, least: timedelta) -> Reason:
    return Reason(
        code="water_young",
        rule="water_young",
        text=said(
            "The make in {vat} has mixed for {mixed}, at least {least} are asked for.",
            vat=found.make.vat,
            mixed=elapsed_text(found.mixed),
            least=elapsed_text(least),
        ),
        numbers={
            "make": str(found.make.uid),
            "mixed_s": found.mixed // SECOND,
            "least_s": least // SECOND,
        },
        may_insist=MANAGER,
    )


def _chlorine(found: Standing) -> Reason:
    value = shown(found.total_chlorine_mg_l)
    return Reason(
        code="chlorine_left",
        rule="chlorine_left",
        text=said(
            "The make in {vat} had {value} mg/L of total chlorine; it must be "
            "nil before animals: neutralise it and test again.",
            vat=found.make.vat,
            value=value,
        ),
        numbers={
            "make": str(found.make.uid),
            "total_chlorine_mg_l": value,
            "nil_below_mg_l": str(CHLORINE_NIL_BELOW),
        },
    )


def shown(value: Decimal) -> str:
    """A figure without the zeros that a database adds, to a thousandth."""
    text = f"{round(value, 3):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
