"""In which units and language somebody reads: theirs alone, whatever the record keeps."""

from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.fields import Rows
from api.pages.shell import here, page, show
from protocols.units import PERSONAL, unit_of
from stock.doors.own_units import choose_language, choose_units

LABELS = {
    "temperature": later("Temperature"),
    "salinity": later("Salinity, or a specific gravity with its convention"),
    "volume": later("Volume"),
    "mass": later("Mass"),
}


class UnitsForm(forms.Form):
    """One choice for each sort of thing that is read."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for sort, names in PERSONAL.items():
            choices = [(name, unit_of(sort, name).words) for name in names]
            self.fields[sort] = Rows(choices, label=LABELS[sort])
        self.fields["language"] = Rows(
            [("", _("As the browser asks for")), *settings.LANGUAGES],
            required=False,
            label=_("Language"),
        )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def own_units(request: HttpRequest, site: UUID) -> HttpResponse:
    """Choose them; the record keeps what was typed, whatever is chosen."""
    at = here(request, site)
    now = {sort: at.units.of(sort).name for sort in PERSONAL}
    form = UnitsForm(request.POST or None, initial={**now, "language": at.person.language})
    if form.is_valid():
        given = form.cleaned_data
        language = given.pop("language")
        choose_units(at.person, units=given)
        choose_language(at.person, language=language)
        with translation.override(language or translation.get_language()):
            messages.success(request, _("Pages are shown in these units and this language."))
        return redirect("units", site)
    status = 400 if form.is_bound else 200
    context = {"form": form, "back": reverse("shift", args=[site])}
    return show(request, at, "units", context, current="units", status=status)
