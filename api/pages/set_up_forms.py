"""The forms of setting up; each gives the body of a fact, with its numbers as text."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from api.language import later
from api.pages.asking import Told
from api.pages.fields import Amount, Count, Figure, One, Rows, Several, WallTime, Words
from api.pages.words import named
from protocols import units
from protocols.kinds.kits import PIECE_TYPES
from protocols.kinds.places import ROLES
from protocols.slip_amounts import BASES
from stock.doors.things import SORTS
from stock.queries.things import listed

CLOCK = r"^([01]\d|2[0-3]):[0-5]\d$"
MEASURED = (
    ("temperature", later("temperature")),
    ("salinity", later("salinity")),
    ("specific_gravity", later("specific gravity")),
    ("conductivity", later("conductivity")),
    ("ph", "pH"),
    ("total_ammonia", later("total ammonia")),
    ("oxygen", later("oxygen")),
)
CONVENTIONS = [
    ("", later("It shows none")),
    *(
        (one.name.removeprefix("SG "), one.words)
        for one in units.SORTS["salinity"]
        if one.convention
    ),
]
KNOWN = (
    ("measured", later("Measured")),
    ("label", later("By its label")),
    ("assumed", later("Assumed")),
)
DAY = forms.DateInput(attrs={"type": "date"})
TYPES = [(one, named(one)) for one in PIECE_TYPES]
HOUR_S = 3600


class SetUp(Told):
    """Nothing but its own fields: it is set up now, and kept on no tablet until there is
    network, since a password or a PIN code may be among them."""

    at_once = True

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside", "note")

    def named(self) -> str:
        given = self.cleaned_data
        return str(given.get("label") or given.get("name") or given.get("scientific_name"))

    def _from(self, name: str, sort: str, *, none: str = later("Choose one")) -> None:
        """Choose among the things of one sort at the site."""
        rows = listed(SORTS[sort].model, self.at.site.uid)
        self._choose(name, [("", none), *((str(one["uid"]), one["label"]) for one in rows)])


class Labelled(SetUp):
    # The name of the field is also that of an attribute of every form field.
    label = Words(most=40, label=later("Its label, as it is painted on it"))

    def body(self) -> dict[str, Any]:
        """What is said; absent what is not."""
        given = self.cleaned_data
        return {name: value for name, value in given.items() if value not in (None, "")}


class RoomForm(Labelled):
    light_on = forms.RegexField(CLOCK, initial="08:00", label=later("Light on, local time"))
    light_off = forms.RegexField(CLOCK, initial="20:00", label=later("Light off, local time"))


class RackForm(Labelled):
    room = One(label=later("In which room?"))
    x_m = Figure(initial="0", unit="m", label=later("Where along the room?"))
    y_m = Figure(initial="0", unit="m", label=later("Where across the room?"))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._from("room", "rooms")


class ContainerForm(Labelled):
    rack = One(label=later("On which rack?"))
    x_m = Figure(
        initial="0", unit="m", label=later("Its middle, from the left end of the rack")
    )
    z_m = Figure(initial="0", unit="m", label=later("Its floor, above the floor of the room"))
    length = Figure(required=False, unit="m", label=later("Length inside"))
    width = Figure(required=False, unit="m", label=later("Width inside"))
    height = Figure(required=False, unit="m", label=later("Height inside"))
    shape = One((("box", later("Box")), ("round", later("Round"))), label=later("Shape"))
    fill_mark_l = Amount("volume", label=later("How much to the fill mark?"))
    lid = forms.BooleanField(required=False, initial=True, label=later("It has a lid"))
    air_stone = forms.BooleanField(
        required=False, initial=True, label=later("It has an air stone")
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._from("rack", "racks")

    def body(self) -> dict[str, Any]:
        given = super().body()
        inside = {
            name: given.pop(name) for name in ("length", "width", "height") if name in given
        }
        if inside:
            given["inside_m"] = inside
        return {**given, "y_m": "0", "in_use": True}


class KitForm(Labelled):
    needs = Several(TYPES, required=False, label=later("What belongs to it?"))


class PieceForm(Labelled):
    type = One(TYPES, label=later("What is it?"))
    kit = One(required=False, label=later("Into which kit?"))
    single_use = forms.BooleanField(
        required=False, label=later("It is thrown away after one use")
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._from("kit", "kits", none=_("Into none"))

    def body(self) -> dict[str, Any]:
        return {name: one for name, one in super().body().items() if name != "kit"}


class InstrumentForm(Labelled):
    quantities = Several(MEASURED, label=later("What does it measure?"))
    convention = One(
        CONVENTIONS,
        required=False,
        label=later("By which convention does it show specific gravity?"),
    )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if "specific_gravity" in given.get("quantities", ()) and not given.get("convention"):
            self.add_error(
                "convention", _("Without its convention a specific gravity says nothing.")
            )
        return given


class SaltLotForm(Labelled):
    product = Words(most=120, label=later("Which salt?"))
    dry_fraction = Figure(
        initial="0.90",
        label=later("Dry fraction"),
        help_text=later("Grams of sea salt in a gram as weighed: 0.85 to 0.93 for most mixes."),
    )
    dry_fraction_from = Rows(KNOWN, initial="measured", label=later("How is that known?"))
    measured_how = Words(required=False, most=200, label=later("How was it measured?"))
    measured_at = WallTime(required=False, label=later("When was it measured?"))

    def body(self) -> dict[str, Any]:
        return {**_dated(self, super().body()), "in_use": True}


class BleachForm(Labelled):
    product = Words(
        most=120, label=later("Which bleach?"), help_text=later("Without scent or soap.")
    )
    strength_percent = Figure(unit="%", label=later("Strength"))
    strength_basis = One(
        list(BASES.items()),
        label=later("By which basis?"),
        help_text=later("The same number by another basis is 10 to 20 % more or less."),
    )
    density_g_ml = Figure(
        required=False,
        unit="g/mL",
        label=later("Density"),
        help_text=later("For a strength by weight (w/w)."),
    )
    strength_from = Rows(KNOWN, initial="measured", label=later("How is that known?"))
    measured_at = WallTime(required=False, label=later("When was it measured?"))
    opened_on = forms.DateField(required=False, label=later("Opened on"), widget=DAY)

    def body(self) -> dict[str, Any]:
        given = _dated(self, super().body())
        if opened := given.pop("opened_on", None):
            given["opened_on"] = opened.isoformat()
        return {**given, "in_use": True}


def _dated(form: Labelled, given: dict[str, Any]) -> dict[str, Any]:
    """With the moment that a typed local time means."""
    plain = {name: one for name, one in given.items() if not name.startswith("measured_at")}
    if moment := form.moments.get("measured_at"):
        plain["measured_at"] = moment
    return plain


class SupplierForm(SetUp):
    name = Words(most=120, label=later("Who sends animals?"))
    doa = Count(required=False, label=later("Hours to claim what is dead on arrival"))
    short = Count(required=False, label=later("Hours to claim what is missing"))

    def settings(self) -> dict[str, Any]:
        given = self.cleaned_data
        terms = {name: given[name] * HOUR_S for name in ("doa", "short") if given[name]}
        return {"claim_terms": terms}


class SpeciesForm(SetUp):
    scientific_name = Words(most=120, label=later("Scientific name"))
    trade_names = Words(
        required=False,
        most=400,
        label=later("Trade names"),
        help_text=later("With commas between them."),
    )

    def body(self) -> dict[str, Any]:
        given = self.cleaned_data
        names = (one.strip() for one in given["trade_names"].split(","))
        return {
            "scientific_name": given["scientific_name"],
            "groups": [],
            "trade_names": [one for one in names if one],
        }


class PersonForm(SetUp):
    name = Words(most=120, label=later("Name"))
    email = forms.EmailField(max_length=254, label=later("Mail address, to sign in with"))
    password = forms.CharField(
        min_length=8,
        max_length=200,
        strip=False,
        label=later("First password"),
        help_text=later("8 characters or more."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    roles = Several([(one, named(one)) for one in ROLES], label=later("What may they do here?"))
