"""Telling what is done in the mixing room: a make, a fill, a measurement, salt."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

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
BASES = (("final", "The finished water"), ("source_water", "The water before the salt"))
SORTS_OF_FILL = (
    ("fillings", "It was filled"),
    ("water-changes", "Some of its water was changed"),
    ("top-ups", "It was topped up with salt water"),
)
SALT = (("received", "So much came"), ("counted", "So much is there, weighed"))


class MixingForm(Told):
    WITHOUT: tuple[str, ...] = ("set_aside", "why_aside", "standing")

    def said(self, *names: str) -> dict[str, Any]:
        """These fields, without those that were left alone."""
        given = self.cleaned_data
        return {name: given[name] for name in names if given.get(name) not in (None, "")}


class MakeForm(MixingForm):
    vat = Words(most=60, label="In which vat?")
    lot = One(required=False, label="Of which salt lot?")
    salt_lot = Words(
        required=False,
        most=60,
        label="Which salt?",
        help_text="Where it is none of these lots.",
    )
    salt_kg = Kilos(required=False, label="How much salt was weighed?")
    volume_l = Amount("volume", label="How much water?")
    volume_basis = Rows(BASES, initial="final", label="Which water is that?")
    salinity = Amount(
        "salinity", label="Salinity", help_text="As measured, all salt dissolved: 33.0"
    )
    temperature_c = Amount("temperature", label="Temperature")
    total_chlorine_mg_l = Figure(
        unit="mg/L", label="Total chlorine", help_text="By a test; nil is 0."
    )
    mixed = WallTime(required=False, label="Mixing since", help_text="Empty: since just now.")
    aerated = WallTime(required=False, label="Aired since")

    def __init__(self, *args: Any, lots: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("lot", [("", "None of these"), *lots])

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
        recorded(request, done, f"A make in {form.cleaned_data['vat']} is told.")
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        "Tell a make",
        do="Record the make",
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class FillForm(Told):
    container = One(label="Which container?")
    what = Rows(SORTS_OF_FILL, initial="fillings", label="What was done?")
    make = One(label="From which make?")
    volume_l = Amount(
        "volume", label="How much?", help_text="To its mark, where it was filled."
    )
    total_chlorine_mg_l = Figure(
        required=False, unit="mg/L", label="Total chlorine in the container, if it was tested"
    )

    def __init__(
        self,
        *args: Any,
        containers: list[tuple[str, str]],
        makes: Sequence[MakeSeen],
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self._choose("container", [("", "Choose one"), *containers])
        zone = self.at.zone
        rows = [
            (
                str(one.row.uid),
                f"{one.row.vat}, {one.row.made_at.astimezone(zone):%d %b %H:%M}: "
                f"{litres(self.at.units, one.standing.left_l)} left",
            )
            for one in makes
        ]
        self._choose("make", [("", "Choose one"), *rows])

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
        recorded(request, done, f"{done.body['container']['label']}: told.")
        for one in done.body["warnings"]:
            messages.warning(request, one["text"])
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        "Fill a container",
        do="Record it",
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class SaltForm(MixingForm):
    lot = One(label="Which lot?")
    what = Rows(SALT, initial="counted", label="What is told?")
    mass_kg = Kilos(label="How much?")

    def __init__(self, *args: Any, lots: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("lot", [("", "Choose one"), *lots])


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
        recorded(request, done, "The salt is told.")
        return redirect("mixing", site)
    return show_form(
        request,
        at,
        form,
        "Salt came, or was weighed",
        back=("mixing", site),
        current="mixing",
        cautions=cautions.mixing(),
    )


class CheckForm(MixingForm):
    volume_l = Amount(
        "volume", required=False, label="How much is left?", help_text="0: it was let go."
    )
    salinity = Amount("salinity", required=False, label="Salinity")
    temperature_c = Amount("temperature", required=False, label="Temperature")
    total_chlorine_mg_l = Figure(required=False, unit="mg/L", label="Total chlorine")

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
        recorded(request, done, "What was measured is told.")
        return redirect("make", uid)
    return show_form(
        request,
        at,
        form,
        f"Measure the make in {row.vat} again",
        back=("make", uid),
        current="mixing",
    )
