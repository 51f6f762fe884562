"""How animals have to be handled: by what groups a species belongs to.

Source: standard husbandry texts. A species is in the groups that its record names, and in those
that its planning group is known for: a caution too many harms nobody.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from protocols.stocking_values import group_of


class Handled(StrEnum):
    """What has to be kept in mind with a species."""

    JUMPER = "jumper"
    SPINY = "spiny"
    TOXIC = "toxic"
    AGGRESSIVE = "aggressive"
    SAND_SLEEPER = "sand sleeper"
    SHY_FEEDER = "shy feeder"
    ROCK_BOUND = "rock-bound"
    SCHOOLING = "schooling"


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind: `warns` where it is not as it should be."""

    what: str
    text: str
    warns: bool = False


_J, _S, _T, _A = Handled.JUMPER, Handled.SPINY, Handled.TOXIC, Handled.AGGRESSIVE
_SHY, _SCHOOL = Handled.SHY_FEEDER, Handled.SCHOOLING
OF_GROUP: Mapping[str, tuple[Handled, ...]] = {
    "humbugs": (_A,),
    "damsels": (_A,),
    "chromis": (_SCHOOL,),
    "tangs": (_S,),
    "butterflyfish": (_SHY,),
    "pygmy angels": (_S,),
    "large angels": (_S, _A),
    "wrasses": (_J,),
    "anthias": (_J, _SHY, _SCHOOL),
    "gobies": (_J,),
    "cardinalfish": (_SCHOOL,),
    "rabbitfish": (_S,),
    "triggerfish": (_S, _A),
    "lionfish": (_S,),
    "hawkfish": (_J, _A),
    "boxfish": (_T,),
    "tobies": (_T,),
    "porcupinefish": (_S, _T),
    "dragonets": (_SHY, Handled.ROCK_BOUND),
    "moray eels": (_J,),
    "seahorses": (Handled.ROCK_BOUND,),
}
# Single genera and species that are handled otherwise than their group.
OF_NAME: Mapping[str, tuple[Handled, ...]] = {
    "pseudochromis": (_A,),
    "pictichromis": (_A,),
    "premnas": (_A,),
    "amphiprion biaculeatus": (_A,),
    "acanthurus sohal": (_A,),
    "acanthurus lineatus": (_A,),
    "grammistes": (_T,),
    "pogonoperca": (_T,),
    "macropharyngodon": (Handled.SAND_SLEEPER,),
    "coris": (Handled.SAND_SLEEPER,),
    "halichoeres": (Handled.SAND_SLEEPER,),
    "zanclus": (_SHY,),
    "doryrhamphus": (_SHY,),
    "dunckerocampus": (_SHY,),
    "sargocentron": (_S,),
    "myripristis": (_S,),
    "neoniphon": (_S,),
    "odontodactylus": (_A,),
    "gonodactylus": (_A,),
}
# How people write a group in the record of a species.
_WRITTEN = {
    spelt: one
    for one in Handled
    for spelt in (one.value, f"{one.value}s", one.value.replace(" ", "_"), one.name.lower())
} | {"aggressive, house singly": _A, "spiny / net-snagging": _S, "toxic when stressed": _T}


def handled(scientific_name: str, groups: Iterable[str] = ()) -> frozenset[Handled]:
    """Everything to mind with a species."""
    groups = [one.strip().lower() for one in groups]
    name = scientific_name.strip().lower()
    genus = name.partition(" ")[0]
    return frozenset(
        {
            *(_WRITTEN[one] for one in groups if one in _WRITTEN),
            *OF_GROUP.get(group_of(name, groups), ()),
            *OF_NAME.get(genus, ()),
            *OF_NAME.get(name, ()),
        }
    )


def shelters(count: int, minded: Iterable[Handled]) -> int:
    """How many shelters so many animals need: one each; of a school one for three."""
    if count < 0:
        raise ValueError(f"count is {count}, it must not be negative")
    return -(-count // 3) if Handled.SCHOOLING in frozenset(minded) else count


def cautions(
    minded: Iterable[Handled], *, lid: bool, mixed: bool = False
) -> tuple[Caution, ...]:
    """What to mind where they are put, caught and fed, what is wrong first.

    `lid`: the container has one. `mixed`: other species share it.
    """
    found = tuple(_cautions(frozenset(minded), lid=lid, mixed=mixed))
    return tuple(sorted(found, key=lambda one: not one.warns))


def _cautions(minded: frozenset[Handled], *, lid: bool, mixed: bool) -> Iterable[Caution]:
    if Handled.JUMPER in minded and not lid:
        text = "They jump and this container has no lid: put one on before they go in."
        yield Caution("lid_missing", text, warns=True)
    elif Handled.JUMPER in minded:
        text = "They jump: the lid stays on, also over the half that is being moved."
        yield Caution("jumper", text)
    if Handled.TOXIC in minded and mixed:
        text = "Stressed they poison the water: a container of their own, never a mixed lot."
        yield Caution("toxic_mixed", text, warns=True)
    elif Handled.TOXIC in minded:
        text = (
            "Stressed they poison the water: alone in their container, handled slowly. "
            "Wash your hands."
        )
        yield Caution("toxic", text)
    if Handled.SPINY in minded:
        text = (
            "Spines: a cup, not a net. Gloves. Stung: the hand into hot water that does not "
            "scald, and see a doctor."
        )
        yield Caution("spiny", text)
    if Handled.AGGRESSIVE in minded:
        text = "They fight: one to a cell. Dividers are disinfected like every other piece."
        yield Caution("aggressive", text)
    if Handled.SAND_SLEEPER in minded:
        text = "They sleep in sand: a tray of it, disinfected or thrown away at every move."
        yield Caution("sand_sleeper", text)
    if Handled.SHY_FEEDER in minded:
        text = "Shy feeders: write down what they eat, before anything else is done with them."
        yield Caution("shy_feeder", text)
    if Handled.ROCK_BOUND in minded:
        yield Caution("rock_bound", "They sit still: little flow, something to hold on to.")
    if Handled.SCHOOLING in minded:
        yield Caution("schooling", "A school: losses come late after stress, look twice a day.")
