"""In which units somebody reads: theirs alone, whatever the record keeps."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from api.pages.fields import Rows
from api.pages.shell import here, page, show
from protocols.units import PERSONAL, unit_of
from stock.doors.own_units import choose_units

LABELS = {
    "temperature": "Temperature",
    "salinity": "Salinity, or a specific gravity with its convention",
    "volume": "Volume",
    "mass": "Mass",
}


class UnitsForm(forms.Form):
    """One choice for each sort of thing that is read."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for sort, names in PERSONAL.items():
            choices = [(name, unit_of(sort, name).words) for name in names]
            self.fields[sort] = Rows(choices, label=LABELS[sort])


@page
@require_http_methods(["GET", "HEAD", "POST"])
def own_units(request: HttpRequest, site: UUID) -> HttpResponse:
    """Choose them; the record keeps what was typed, whatever is chosen."""
    at = here(request, site)
    now = {sort: at.units.of(sort).name for sort in PERSONAL}
    form = UnitsForm(request.POST or None, initial=now)
    if form.is_valid():
        choose_units(at.person, units=form.cleaned_data)
        messages.success(request, "Readings and volumes are shown in these units.")
        return redirect("units", site)
    status = 400 if form.is_bound else 200
    context = {"form": form, "back": reverse("shift", args=[site])}
    return show(request, at, "units", context, current="units", status=status)
