"""Telling what is done in the mixing room: a make, a fill, a measurement, salt."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later, month
from api.pages import cautions
from api.pages.amounts import litres
from api.pages.asking import Told, send
from api.pages.fields import Amount, Figure, Kilos, One, Rows, WallTime, Words
from api.pages.forms import recorded, show_form
from api.pages.shell import here, page
from stock import access
from stock.doors.care import care_for
from stock.doors.mixing import check_make, make_water, weigh_salt
from stock.doors.things import SORTS
from stock.queries.mixing import MakeSeen, make_head, makes_seen
from stock.queries.things import listed

METHODS = ["GET", "HEAD", "POST"]
BASES = (
    ("final", later("The finished water")),
    ("source_water", later("The water before the salt")),
)
SORTS_OF_FILL = (
    ("fillings", later("It was filled")),
    ("water-changes", later("Some of its water was changed")),
    ("top-ups", later("It was topped up with salt water")),
)
SALT = (("received", later("So much came")), ("counted", later("So much is there, weighed")))


def _short(local: datetime) -> str:
    return f"{local:%d} {month(local)} {local:%H:%M}"


class MixingForm(Told):
    WITHOUT: tuple[str, ...] = ("set_aside", "why_aside", "standing")

    def said(self, *names: str) -> dict[str, Any]:
        """These fields, without those that were left alone."""
        given = self.cleaned_data
        return {name: given[name] for name in names if given.get(name) not in (None, "")}


class MakeForm(MixingForm):
    vat = Words(most=60, label=later("In which vat?"))
    lot = One(required=False, label=later("Of which salt lot?"))
    salt_lot = Words(
        required=False,
        most=60,
        label=later("Which salt?"),
        help_text=later("Where it is none of these lots."),
    )
    salt_kg = Kilos(required=False, label=later("How much salt was weighed?"))
    volume_l = Amount("volume", label=later("How much water?"))
    volume_basis = Rows(BASES, initial="final", label=later("Which water is that?"))
    salinity = Amount(
        "salinity",
        label=later("Salinity"),
        help_text=later("As measured, all salt dissolved: 33.0"),
    )
    temperature_c = Amount("temperature", label=later("Temperature"))
    total_chlorine_mg_l = Figure(
        unit="mg/L", label=later("Total chlorine"), help_text=later("By a test; nil is 0.")
    )
    mixed = WallTime(
        required=False, label=later("Mixing since"), help_text=later("Empty: since just now.")
    )
    aerated = WallTime(required=False, label=later("Aired since"))

    def __init__(self, *args: Any, lots: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("lot", [("", _("None of these")), *lots])

    def body(self) -> dict[str, Any]:
        figures = ("salt_kg", "volume_l", "salinity", "temperature_c", "total_chlorine_mg_l")
        body = self.said("vat", "salt_lot", "volume_basis", *figures)
        if lot := self.cleaned_data["lot"]:
            body["lot"] = UUID(lot)
        times = (("mixed_at", "mixed"), ("aerated_since", "aerated"))
        return body | {
            name: self.moments[field] for name, field in times if field in self.moments
        }


@page
@require_http_methods(METHODS)
def tell_make(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    rows = listed(SORTS["salt-lots"].model, site)
    lots = [(str(one["uid"]), one["label"]) for one in rows if one["in_use"]]
    first = {"lot": lots[-1][0]} if lots else {}
    form = MakeForm(request.POST or None, at=at, lots=lots, initial=first)
    done = send(
        request,
        form,
        lambda asked: make_water(asked, site=site, body=form.body()),
        {"mixed_at": "mixed", "aerated_since": "aerated"},
    )
    if done:
        recorded(
            request, done, _("A make in {vat} is told.").format(vat=form.cleaned_data["vat"])
        )
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        _("Tell a make"),
        do=_("Record the make"),
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class FillForm(Told):
    container = One(label=later("Which container?"))
    what = Rows(SORTS_OF_FILL, initial="fillings", label=later("What was done?"))
    make = One(label=later("From which make?"))
    volume_l = Amount(
        "volume", label=later("How much?"), help_text=later("To its mark, where it was filled.")
    )
    total_chlorine_mg_l = Figure(
        required=False,
        unit="mg/L",
        label=later("Total chlorine in the container, if it was tested"),
    )

    def __init__(
        self,
        *args: Any,
        containers: list[tuple[str, str]],
        makes: Sequence[MakeSeen],
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self._choose("container", [("", _("Choose one")), *containers])
        zone = self.at.zone
        rows = [
            (
                str(one.row.uid),
                _("{vat}, {made}: {litres} left").format(
                    vat=one.row.vat,
                    made=_short(one.row.made_at.astimezone(zone)),
                    litres=litres(self.at.units, one.standing.left_l),
                ),
            )
            for one in makes
        ]
        self._choose("make", [("", _("Choose one")), *rows])

    def body(self) -> dict[str, Any]:
        given = self.cleaned_data
        body = {"make": UUID(given["make"]), "volume_l": given["volume_l"]}
        if given["what"] == "fillings" and given["total_chlorine_mg_l"]:
            body["total_chlorine_mg_l"] = given["total_chlorine_mg_l"]
        return body


@page
@require_http_methods(METHODS)
def tell_fill(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    form = FillForm(
        request.POST or None,
        at=at,
        containers=[
            (str(one["uid"]), f"{one['label']}, {litres(at.units, one['fill_mark_l'])}")
            for one in listed(SORTS["containers"].model, site)
            if one["in_use"]
        ],
        makes=makes_seen(site, at.now),
        initial={"make": request.GET.get("make"), "container": request.GET.get("container")},
    )
    done = send(
        request,
        form,
        lambda asked: care_for(
            asked,
            container=UUID(form.cleaned_data["container"]),
            care=form.cleaned_data["what"],
            body=form.body(),
        ),
    )
    if done:
        recorded(
            request, done, _("{label}: told.").format(label=done.body["container"]["label"])
        )
        for one in done.body["warnings"]:
            messages.warning(request, one["text"])
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        _("Fill a container"),
        do=_("Record it"),
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class SaltForm(MixingForm):
    lot = One(label=later("Which lot?"))
    what = Rows(SALT, initial="counted", label=later("What is told?"))
    mass_kg = Kilos(label=later("How much?"))

    def __init__(self, *args: Any, lots: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("lot", [("", _("Choose one")), *lots])


@page
@require_http_methods(METHODS)
def tell_salt(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    rows = listed(SORTS["salt-lots"].model, site)
    lots = [(str(one["uid"]), one["label"]) for one in rows]
    form = SaltForm(request.POST or None, at=at, lots=lots)
    done = send(
        request,
        form,
        lambda asked: weigh_salt(
            asked,
            lot=UUID(form.cleaned_data["lot"]),
            what=form.cleaned_data["what"],
            mass_kg=form.cleaned_data["mass_kg"],
        ),
    )
    if done:
        recorded(request, done, _("The salt is told."))
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        _("Salt came, or was weighed"),
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class CheckForm(MixingForm):
    volume_l = Amount(
        "volume",
        required=False,
        label=later("How much is left?"),
        help_text=later("0: it was let go."),
    )
    salinity = Amount("salinity", required=False, label=later("Salinity"))
    temperature_c = Amount("temperature", required=False, label=later("Temperature"))
    total_chlorine_mg_l = Figure(required=False, unit="mg/L", label=later("Total chlorine"))

    def body(self) -> dict[str, Any]:
        return self.said("volume_l", "salinity", "temperature_c", "total_chlorine_mg_l")


@page
@require_http_methods(METHODS)
def measure_make(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = make_head(uid)
    at = here(request, row.site_id, access.HANDS)
    form = CheckForm(request.POST or None, at=at)
    done = send(request, form, lambda asked: check_make(asked, make=uid, body=form.body()))
    if done:
        recorded(request, done, _("What was measured is told."))
        return redirect("make", uid)
    return show_form(
        request,
        at,
        form,
        _("Measure the make in {vat} again").format(vat=row.vat),
        back=("make", uid),
        current="mixing",
    )
