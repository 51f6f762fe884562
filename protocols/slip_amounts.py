"""What a slip of work says of amounts: water and salt for a container, or a bath for it."""

from dataclasses import dataclass
from decimal import Decimal

from protocols.clocks import elapsed_text
from protocols.makes import Standing, shown
from protocols.mixing import (
    DRY_FRACTION_ASSUMED,
    Bath,
    Strength,
    bath,
    recipe,
    salt_to_add_kg,
    water_to_add_l,
)
from protocols.ruled import DryingRule
from protocols.said import said
from protocols.water_needs import Water

BASES = {
    "available_chlorine_w/v": "available chlorine w/v",
    "trade_percent": "trade percent",
    "available_chlorine_w/w": "available chlorine w/w",
    "naocl_w/w": "NaOCl w/w",
    "naocl_w/v": "NaOCl w/v",
}


@dataclass(frozen=True, slots=True)
class SaltUsed:
    """The salt that is weighed now; without a lot its dry fraction is assumed."""

    dry_fraction: Decimal = DRY_FRACTION_ASSUMED
    label: str = ""
    known_from: str = "assumed"


@dataclass(frozen=True, slots=True)
class BleachUsed:
    """The bottle of bleach that is used now."""

    label: str
    strength: Strength


@dataclass(frozen=True, slots=True)
class Products:
    """The salt lot and the bottle of bleach in use that were told of last."""

    salt: SaltUsed = SaltUsed()
    bleach: BleachUsed | None = None


@dataclass(frozen=True, slots=True)
class FillAmount:
    """Water for a container to its mark, and the salt in it as it can be weighed."""

    litres: Decimal
    salt_kg: Decimal
    water: Water
    salt: SaltUsed

    @property
    def text(self) -> str:
        salinity = said("salinity {salinity}", salinity=shown(self.water.salinity))
        return self.said(f"{shown(self.litres)} L", f"{weighed(self.salt_kg)} kg", salinity)

    def said(self, water: str, salt: str, salinity: str) -> str:
        """The sentence, its figures in words of whoever reads it."""
        as_read = "as read where they are" if self.water.read else "planned: nobody has read it"
        return said(
            "{water} of water with {salt} of salt, for {salinity}, {as_read}; ",
            water=water,
            salt=salt,
            salinity=salinity,
            as_read=as_read,
        ) + salt_text(self.salt)


@dataclass(frozen=True, slots=True)
class BathAmount:
    """A bath to the mark of a container."""

    bath: Bath
    bleach: BleachUsed

    @property
    def text(self) -> str:
        return self.said(f"{shown(self.bath.volume_l)} L")

    def said(self, water: str) -> str:
        """The sentence; bleach and thiosulfate are measured in mL and g by everybody."""
        one = self.bath
        return said(
            "bath of {water}, to the mark: {bleach_ml} mL of {bleach_text} for "
            "{target_mg_l} mg/L, at least {contact} h, measured. Then "
            "{thiosulfate_g} g of thiosulfate crystals and a test: nil",
            water=water,
            bleach_ml=weighed(one.bleach_ml),
            bleach_text=bleach_text(self.bleach),
            target_mg_l=shown(one.target_mg_l),
            contact=elapsed_text(one.contact),
            thiosulfate_g=weighed(one.thiosulfate_g),
        )


NO_BLEACH = "the mixing room does not know the strength of your bleach yet"


def fill_amount(litres: Decimal, water: Water, salt: SaltUsed) -> FillAmount | None:
    """What a container takes; None where a figure of it cannot be."""
    try:
        made = recipe(
            litres,
            salinity=water.salinity,
            temperature_c=water.temperature_c,
            dry_fraction=salt.dry_fraction,
        )
    except ValueError:
        return None
    return FillAmount(litres, made.salt_kg, water, salt)


def bath_amount(litres: Decimal, bleach: BleachUsed, drying: DryingRule) -> BathAmount | None:
    """A bath at the protocol's strength and time; None where a figure of it cannot be."""
    try:
        made = bath(
            litres,
            bleach.strength,
            target_mg_l=drying.chlorine_mg_l_least,
            contact=drying.contact_least,
        )
    except ValueError:
        return None
    return BathAmount(made, bleach)


# Nearer than this two readings of one water are not.
NEAR_SALINITY = Decimal("0.3")


def bring_to(standing: Standing, wanted: Water, salt: SaltUsed) -> str:
    """What brings what is left of a make to the salinity that is wanted; empty where it is."""
    apart = standing.salinity - wanted.salinity
    if abs(apart) <= NEAR_SALINITY or standing.left_l <= 0:
        return ""
    known = {
        "salinity_from": standing.salinity,
        "salinity_to": wanted.salinity,
        "temperature_c": standing.temperature_c,
    }
    try:
        if apart > 0:
            amount = said(
                "{water_to_add_l} L of fresh water",
                water_to_add_l=shown(water_to_add_l(standing.left_l, **known)),
            )
        else:
            kilos = salt_to_add_kg(standing.left_l, **known, dry_fraction=salt.dry_fraction)
            amount = said("{kilos} kg of salt", kilos=weighed(kilos))
    except ValueError:
        return ""
    return said(
        "For salinity {salinity} add {amount}, then measure again.",
        salinity=shown(wanted.salinity),
        amount=amount,
    )


def salt_text(salt: SaltUsed) -> str:
    """Which salt, and how its dry fraction is known."""
    lot = said("lot {salt}, ", salt=salt.label) if salt.label else ""
    return said(
        "{lot}dry fraction {dry_fraction}, {known}",
        lot=lot,
        dry_fraction=shown(salt.dry_fraction),
        known=_known(salt.known_from),
    )


def bleach_text(bleach: BleachUsed) -> str:
    """Which bottle, and how strong it is."""
    return f"{bleach.label} ({strength_text(bleach)})"


def strength_text(bleach: BleachUsed) -> str:
    """By which basis it is so strong, and how that is known."""
    one = bleach.strength
    return f"{shown(one.percent)} % {BASES[one.basis]}, {_known(one.known_from)}"


def _known(known_from: str) -> str:
    return "by its label" if known_from == "label" else known_from


def weighed(amount: Decimal) -> str:
    """An amount with the places that its scale or jug shows."""
    return f"{amount:f}"
