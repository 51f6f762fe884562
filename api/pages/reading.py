"""Reading the water of a container."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import GRAVITY, Figure, Measured, One
from api.pages.forms import show_form
from api.pages.shell import here, page
from stock import access
from stock.doors.measured import Value
from stock.doors.readings import take_readings
from stock.queries.equipment_seen import container_head
from stock.queries.instruments import InstrumentChoice, instruments_of

# What else can be measured: quantity, unit, what it is reported as, scale of a pH.
OTHERS = {
    "ph": ("pH", "[pH]", None, "NBS"),
    "total_ammonia-N": (later("total ammonia, as N"), "mg/L", "N", None),
    "total_ammonia-NH3": (later("total ammonia, as NH3"), "mg/L", "NH3", None),
    "total_ammonia-NH4": (later("total ammonia, as NH4"), "mg/L", "NH4", None),
    "free_ammonia-NH3": (later("free ammonia, as NH3"), "mg/L", "NH3", None),
    "nitrite-NO2": (later("nitrite, as NO2"), "mg/L", "NO2", None),
    "nitrate-NO3": (later("nitrate, as NO3"), "mg/L", "NO3", None),
    "oxygen": (later("oxygen"), "mg/L", None, None),
    "specific_gravity": (later("specific gravity"), "1", None, None),
    "total_chlorine": (later("total chlorine"), "mg/L", None, None),
    "copper": (later("copper"), "mg/L", None, None),
}
MAIN = {"temperature": ("temperature",), "salinity": ("salinity", "specific_gravity")}
NOTHING = later("Type at least one value.")


class ReadingForm(Told):
    """Temperature and salinity, as the match of a move needs them, and one value more."""

    WITHOUT = ("set_aside", "why_aside", "standing")

    temperature = Measured("temperature", required=False, label=later("Temperature"))
    temperature_by = One(required=False, label=later("Read with which thermometer?"))
    salinity = Measured(
        "salinity",
        required=False,
        label=later("Salinity"),
        help_text=later(
            "33.0, or a specific gravity such as 1.0249 by the instrument's convention."
        ),
    )
    salinity_by = One(required=False, label=later("Read with which instrument?"))
    other = One(
        [("", later("Nothing")), *((key, said[0]) for key, said in OTHERS.items())],
        required=False,
        label=later("What else was measured?"),
    )
    value = Figure(required=False, label=later("Its value"))
    value_by = One(required=False, label=later("With which instrument?"))

    def __init__(self, *args: Any, instruments: list[InstrumentChoice], **options: Any) -> None:
        super().__init__(*args, **options)
        for name, quantities in MAIN.items():
            fitting = [one for one in instruments if set(quantities) & set(one.quantities)]
            self._choose(f"{name}_by", _named(fitting))
            if len(fitting) == 1:
                self.fields[f"{name}_by"].initial = str(fitting[0].uid)
        self._choose("value_by", _named(instruments))
        if not any("specific_gravity" in one.quantities for one in instruments):
            # Nothing here shows one, whatever this person prefers to read.
            self.fields["salinity"].initial = (None, "1")

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("value") is not None and not given.get("other"):
            self.add_error("other", _("Say what was measured."))
        if given.get("other") and given.get("value") is None and "value" not in self.errors:
            self.add_error("value", _("Type a number."))
        if not self.errors and not self.typed():
            self.add_error("temperature", NOTHING)
        return given

    def typed(self) -> list[str]:
        """The fields that hold a value, in the order in which they are sent."""
        names = ("temperature", "salinity", "value")
        return [name for name in names if self.cleaned_data.get(name) is not None]

    def values(self, container: UUID) -> list[Value]:
        return [self._value(name, container) for name in self.typed()]

    def _value(self, name: str, container: UUID) -> Value:
        given = self.cleaned_data
        by = given[f"{name}_by"]
        quantity, number, reported_as, scale = name, given[name], None, None
        if name == "value":
            quantity = given["other"].partition("-")[0]
            __, unit, reported_as, scale = OTHERS[given["other"]]
        else:
            number, unit = given[name].value, given[name].unit
            if unit == GRAVITY:
                quantity, unit = "specific_gravity", "1"
        return Value(
            container,
            quantity,
            number,
            unit,
            instrument=UUID(by) if by else None,
            reported_as=reported_as,
            ph_scale=scale,
        )

    def names(self) -> dict[str, str]:
        """From where the door points to the fields: it counts the values that are sent."""
        found: dict[str, str] = {}
        for n, name in enumerate(self.typed()):
            found |= {f"readings/{n}/{part}": name for part in ("value", "quantity", "unit")}
            found[f"readings/{n}/instrument"] = f"{name}_by"
            found[f"readings/{n}/performed_at"] = "when"
        return found


def _named(instruments: list[InstrumentChoice]) -> list[tuple[str, str]]:
    """An instrument that failed its last check says so; the door refuses it."""
    rows = [
        (
            str(one.uid),
            one.label
            if one.passed is not False
            else _("{label}, failed its check").format(label=one.label),
        )
        for one in instruments
    ]
    return [("", _("None")), *rows]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def read_water(request: HttpRequest, uid: UUID) -> HttpResponse:
    container = container_head(uid)
    at = here(request, container.site_id, access.HANDS)
    form = ReadingForm(request.POST or None, at=at, instruments=instruments_of(at.site.uid))
    names = form.names() if form.is_valid() else {}
    done = send(
        request,
        form,
        lambda asked: take_readings(asked, site=at.site.uid, values=form.values(uid)),
        names,
    )
    if done:
        messages.success(
            request, _("The water of {container} is read.").format(container=container.label)
        )
        return redirect(_onward(request) or reverse("container", args=[uid]))
    return show_form(
        request,
        at,
        form,
        _("Read the water of {container}").format(container=container.label),
        do=_("Record the readings"),
        back=("container", uid),
    )


def _onward(request: HttpRequest) -> str:
    """Back to the page that led here, if that is one of ours."""
    wanted = request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(wanted, None)
    return wanted if ours and wanted.startswith("/") else ""
