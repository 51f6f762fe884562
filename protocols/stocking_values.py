"""Planning values for stocking: mass from length, rations, oxygen use, exchange with air.

They are for planning, and are shown as such with their error. A site may put its own in their
place, for a group or for one species, by the site rule `planning`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

# Weights by family are off by a quarter to a third; curves of single species by a tenth.
MASS_ERROR, MASS_ERROR_OWN = 0.30, 0.14
# Protein of dry food as fed. Frozen food is mostly water and has 0.08 to 0.15.
PROTEIN_DRY = 0.45
LENGTH_MOST_CM, LENGTH_LEAST_CM = 200.0, 0.5
UNKNOWN_GROUP = "unknown"


@dataclass(frozen=True, slots=True)
class LengthWeight:
    """W = a L^b: total length in cm, mass in g."""

    a: float
    b: float


@dataclass(frozen=True, slots=True)
class Own:
    """What a site knows better: of a group, or of a species by its scientific name."""

    of: str
    a: Decimal | None = None
    b: Decimal | None = None
    feed_percent_day: Decimal | None = None
    protein_fraction: Decimal | None = None
    length_cm: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """The values with which one species is planned. `mass_error` is a fraction either way."""

    group: str
    curve: LengthWeight
    mass_error: float
    feed_percent_day: float | None = None
    protein_fraction: float = PROTEIN_DRY
    usual_length_cm: float | None = None
    own: bool = False

    def mass_g(self, length_cm: float) -> float:
        """Mass of one animal in g from its total length in cm (0.5 to 200).

        Source: length-weight curves by family, rounded (FishBase; Kulbicki et al. 2005).
        Raises ValueError out of that range.
        """
        if not LENGTH_LEAST_CM <= length_cm <= LENGTH_MOST_CM:
            raise ValueError(
                f"length_cm is {length_cm:g}, allowed {LENGTH_LEAST_CM:g} to {LENGTH_MOST_CM:g}"
            )
        return float(self.curve.a * length_cm**self.curve.b)

    def length_cm(self, mass_g: float) -> float:
        """The length in cm of an animal of so many g (more than 0). Raises ValueError."""
        if not mass_g > 0:
            raise ValueError(f"mass_g is {mass_g:g}, it must be more than 0")
        return float((mass_g / self.curve.a) ** (1 / self.curve.b))


CURVES: Mapping[str, LengthWeight] = {
    "anemonefish": LengthWeight(0.024, 3.00),
    "humbugs": LengthWeight(0.040, 3.00),
    "chromis": LengthWeight(0.025, 3.00),
    "damsels": LengthWeight(0.022, 3.00),
    "tangs": LengthWeight(0.025, 3.00),
    "butterflyfish": LengthWeight(0.030, 3.00),
    "pygmy angels": LengthWeight(0.033, 2.90),
    "large angels": LengthWeight(0.032, 2.95),
    "wrasses": LengthWeight(0.012, 3.00),
    "cleaner wrasses": LengthWeight(0.0065, 3.15),
    "anthias": LengthWeight(0.015, 3.00),
    "basslets": LengthWeight(0.014, 3.00),
    "gobies": LengthWeight(0.010, 3.00),
    "blennies": LengthWeight(0.009, 3.00),
    "cardinalfish": LengthWeight(0.018, 3.05),
    "rabbitfish": LengthWeight(0.016, 3.05),
    "triggerfish": LengthWeight(0.028, 2.95),
    "filefish": LengthWeight(0.022, 2.90),
    "lionfish": LengthWeight(0.012, 3.10),
    "hawkfish": LengthWeight(0.014, 3.05),
    "boxfish": LengthWeight(0.090, 2.60),
    "tobies": LengthWeight(0.030, 2.95),
    "porcupinefish": LengthWeight(0.050, 2.85),
    "dragonets": LengthWeight(0.012, 3.00),
    "groupers": LengthWeight(0.012, 3.05),
    "moray eels": LengthWeight(0.0008, 3.10),
    "seahorses": LengthWeight(0.004, 2.90),
    # Nothing is known of them: the stoutest of the common shapes, so that no plan is too full.
    UNKNOWN_GROUP: LengthWeight(0.040, 3.00),
}
# To which group a genus belongs, in lower case.
GENERA: Mapping[str, tuple[str, ...]] = {
    "anemonefish": ("amphiprion", "premnas"),
    "humbugs": ("dascyllus",),
    "chromis": ("chromis",),
    "damsels": (
        "chrysiptera",
        "pomacentrus",
        "abudefduf",
        "neopomacentrus",
        "stegastes",
        "pycnochromis",
    ),
    "tangs": ("acanthurus", "zebrasoma", "ctenochaetus", "naso", "paracanthurus", "prionurus"),
    "butterflyfish": ("chaetodon", "heniochus", "forcipiger", "chelmon", "hemitaurichthys"),
    "pygmy angels": ("centropyge", "paracentropyge"),
    "large angels": (
        "pomacanthus",
        "holacanthus",
        "pygoplites",
        "apolemichthys",
        "chaetodontoplus",
        "genicanthus",
    ),
    "wrasses": (
        "thalassoma",
        "halichoeres",
        "cirrhilabrus",
        "paracheilinus",
        "coris",
        "macropharyngodon",
        "pseudocheilinus",
        "anampses",
        "gomphosus",
        "bodianus",
        "novaculichthys",
        "stethojulis",
        "wetmorella",
    ),
    "cleaner wrasses": ("labroides",),
    "anthias": (
        "pseudanthias",
        "anthias",
        "serranocirrhitus",
        "mirolabrichthys",
        "odontanthias",
    ),
    "basslets": ("gramma", "pseudochromis", "pictichromis", "liopropoma", "assessor"),
    "gobies": (
        "gobiodon",
        "amblyeleotris",
        "stonogobiops",
        "cryptocentrus",
        "elacatinus",
        "valenciennea",
        "nemateleotris",
        "ptereleotris",
        "opistognathus",
        "amblygobius",
        "eviota",
    ),
    "blennies": ("salarias", "ecsenius", "meiacanthus", "atrosalarias", "cirripectes"),
    "cardinalfish": ("pterapogon", "sphaeramia", "apogon", "ostorhinchus", "zoramia"),
    "rabbitfish": ("siganus", "lo"),
    "triggerfish": (
        "balistoides",
        "balistapus",
        "rhinecanthus",
        "odonus",
        "melichthys",
        "xanthichthys",
        "sufflamen",
    ),
    "filefish": ("oxymonacanthus", "acreichthys", "pervagor", "chaetodermis"),
    "lionfish": ("pterois", "dendrochirus"),
    "hawkfish": ("oxycirrhites", "neocirrhites", "cirrhitichthys", "paracirrhites"),
    "boxfish": ("ostracion", "lactoria", "tetrosomus"),
    "tobies": ("canthigaster", "arothron"),
    "porcupinefish": ("diodon", "cyclichthys", "chilomycterus"),
    "dragonets": ("synchiropus", "pterosynchiropus"),
    "groupers": ("grammistes", "cephalopholis", "epinephelus", "cromileptes", "pogonoperca"),
    "moray eels": ("gymnothorax", "echidna", "rhinomuraena", "gymnomuraena", "enchelycore"),
    "seahorses": ("hippocampus",),
}
_BY_GENUS = {genus: group for group, genera in GENERA.items() for genus in genera}


def group_of(scientific_name: str, groups: Iterable[str] = ()) -> str:
    """The planning group of a species: one of its own groups, else that of its genus."""
    for one in groups:
        if (name := one.strip().lower()) in CURVES:
            return name
    genus = scientific_name.strip().lower().partition(" ")[0]
    return _BY_GENUS.get(genus, UNKNOWN_GROUP)


def planned(
    scientific_name: str, groups: Iterable[str] = (), own: Iterable[Own] = ()
) -> Planned:
    """With which values a species is planned: the site's own where it has any."""
    group = group_of(scientific_name, groups)
    name = scientific_name.strip().lower()
    known = {one.of.strip().lower(): one for one in own}
    better = [known[key] for key in (name, group) if key in known]
    curve = CURVES[group]
    curves = [LengthWeight(float(one.a), float(one.b)) for one in better if one.a and one.b]
    return Planned(
        group=group,
        curve=curves[0] if curves else curve,
        mass_error=MASS_ERROR_OWN if curves else MASS_ERROR,
        feed_percent_day=_first(one.feed_percent_day for one in better),
        protein_fraction=_first(one.protein_fraction for one in better) or PROTEIN_DRY,
        usual_length_cm=_first(one.length_cm for one in better),
        own=bool(better),
    )


def _first(values: Iterable[Decimal | None]) -> float | None:
    return next((float(one) for one in values if one is not None), None)


def ration_percent_day(mass_g: float) -> float:
    """Dry food in % of the mass a day, by the mass of one animal in g: the middle of practice.

    Below 5 g 3 to 5 %, to 50 g 2 to 3 %, above 1 to 2 % (trade norm).
    """
    if mass_g < 5:
        return 4.0
    return 2.5 if mass_g <= 50 else 1.5


# Oxygen use at rest at 28 to 30 C (215 mg/kg/h at 10 g, Nilsson & Ostlund-Nilsson 2004).
OXYGEN_AT_10_G, OXYGEN_EXPONENT, OXYGEN_AT_C = 215.0, -0.37, 29.0
# How it falls and rises over ten degrees; each the careful end of what reef fish were found at.
Q10_COLDER, Q10_WARMER = 2.0, 2.9
FED_OR_HANDLED = 2.0


def oxygen_use_mg_h(mass_g: float, temperature_c: float) -> float:
    """Oxygen that one animal of so many g (more than 0) uses, in mg/h, fed or just handled.

    Twice its use at rest, which falls with the mass to the power -0.37 for each kg.
    """
    if not mass_g > 0:
        raise ValueError(f"mass_g is {mass_g:g}, it must be more than 0")
    at_rest = OXYGEN_AT_10_G * (mass_g / 10) ** OXYGEN_EXPONENT * mass_g / 1000
    apart = temperature_c - OXYGEN_AT_C
    q10 = Q10_WARMER if apart > 0 else Q10_COLDER
    return float(FED_OR_HANDLED * at_rest * q10 ** (apart / 10))
