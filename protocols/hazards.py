"""What can hurt whoever touches an animal or its water: for the marks on labels.

A mark too many harms nobody, so where a group has venomous members all of it is marked.

Source of which fishes are venomous: Smith & Wheeler 2006, Journal of Heredity 97, 206-217
(spines of scorpionfishes, rabbitfishes, surgeonfishes, catfishes, fangblennies, rays); of
spines and of what poisons the water: standard husbandry texts, see `handling.py`.
"""

from collections.abc import Iterable
from enum import StrEnum

from protocols.handling import Handled, handled
from protocols.stocking_values import group_of


class Hazard(StrEnum):
    """A mark on a label, in the order in which marks stand there."""

    VENOM = "venom"
    SPINES = "spines"
    POISON = "poison"
    BLEACH = "bleach"


VENOMOUS_GROUPS = frozenset({"lionfish", "rabbitfish"})
VENOMOUS_GENERA = frozenset(
    {
        "acanthurus",
        "dendrochirus",
        "inimicus",
        "meiacanthus",
        "neotrygon",
        "parapterois",
        "plotosus",
        "prionurus",
        "pterois",
        "rhinopias",
        "scorpaena",
        "scorpaenopsis",
        "sebastapistes",
        "siganus",
        "synanceia",
        "taeniura",
        "taenianotus",
    }
)
# How people write it in the record of a species.
VENOMOUS_WORDS = frozenset({"venomous", "venom", "stingrays", "scorpionfish", "rays"})


def hazards(scientific_name: str, groups: Iterable[str] = ()) -> tuple[Hazard, ...]:
    """The marks for a species, the worst first; none where nothing is known of it."""
    groups = [one.strip().lower() for one in groups]
    genus = scientific_name.strip().lower().partition(" ")[0]
    minded = handled(scientific_name, groups)
    found = {
        Hazard.VENOM: (
            genus in VENOMOUS_GENERA
            or group_of(scientific_name, groups) in VENOMOUS_GROUPS
            or not VENOMOUS_WORDS.isdisjoint(groups)
        ),
        Hazard.SPINES: Handled.SPINY in minded,
        Hazard.POISON: Handled.TOXIC in minded,
    }
    return tuple(one for one in Hazard if found.get(one))


def hazards_of_all(species: Iterable[tuple[str, Iterable[str]]]) -> tuple[Hazard, ...]:
    """The marks for animals of several species, each said by name and groups, once each."""
    found = {one for name, groups in species for one in hazards(name, groups)}
    return tuple(one for one in Hazard if one in found)
