"""A small delivery without a file: just supplier, species and numbers."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import Count, One, Words
from api.pages.forms import show_form
from api.pages.shell import here, page
from stock import access
from stock.doors.intake import LineAsked, enter_consignment
from stock.queries.suppliers import species_listed, suppliers_listed

LINES = 6

Rows = Sequence[Mapping[str, Any]]


class SmallDeliveryForm(Told):
    """Up to six lines; those without a number are left out."""

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    supplier = One(label=later("Who sent it?"))
    waybill = Words(required=False, most=60, label=later("Waybill"))

    def __init__(self, *args: Any, suppliers: Rows, species: Rows, **options: Any) -> None:
        super().__init__(*args, **options)
        rows = ((str(one["uid"]), one["name"]) for one in suppliers)
        self._choose("supplier", [("", _("Choose one")), *rows])
        known = [(str(one["uid"]), one["scientific_name"]) for one in species]
        for n in range(1, LINES + 1):
            self.fields[f"species_{n}"] = One(
                [("", _("Nothing")), *known], required=False, label=_("Species {n}").format(n=n)
            )
            self.fields[f"listed_{n}"] = Count(
                required=False, label=_("How many of species {n}?").format(n=n)
            )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        for n in range(1, LINES + 1):
            species, listed = given.get(f"species_{n}"), given.get(f"listed_{n}")
            if species and listed is None and f"listed_{n}" not in self.errors:
                self.add_error(f"listed_{n}", _("Type a number."))
            if listed is not None and not species:
                self.add_error(f"species_{n}", _("Choose one."))
        if not self.errors and not self.lines():
            self.add_error("species_1", _("Say what came."))
        return given

    def lines(self) -> list[LineAsked]:
        given = self.cleaned_data
        return [
            LineAsked(given[f"listed_{n}"], UUID(given[f"species_{n}"]))
            for n in range(1, LINES + 1)
            if given.get(f"species_{n}")
        ]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def small_delivery(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    form = SmallDeliveryForm(
        request.POST or None,
        at=at,
        suppliers=suppliers_listed(at.person),
        species=species_listed(at.person),
    )
    done = send(
        request,
        form,
        lambda asked: enter_consignment(
            asked,
            site=site,
            supplier=UUID(form.cleaned_data["supplier"]),
            waybill=form.cleaned_data["waybill"] or None,
            lines=form.lines(),
        ),
    )
    if done:
        messages.success(request, _("The delivery is entered. Count it out of the bags."))
        return redirect("consignment", done.body["consignment"]["uid"])
    return show_form(
        request,
        at,
        form,
        _("A small delivery"),
        do=_("Enter it"),
        back=("unpacking", site),
        current="unpacking",
    )
