"""Labels to print: which things, on which paper; the answer is a PDF."""

import io
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.exports.labels import FORMATS, write_labels
from api.pages.fields import Count, Rows
from api.pages.label_words import Saying, bleach_water, labels
from api.pages.shell import here, page, show
from api.public.addresses import address_of
from stock.queries.labels import labels_of

COPIES_MOST = 40
BLEACH = "bleach"
WHAT: tuple[tuple[str, Any], ...] = (
    ("container", gettext_lazy("Containers")),
    ("kit", gettext_lazy("Kits")),
    ("piece", gettext_lazy("Pieces")),
    ("instrument", gettext_lazy("Instruments")),
    ("batch", gettext_lazy("Batches, with their next limit")),
    ("bag", gettext_lazy("Bags and boxes that came")),
    ("sold", gettext_lazy("Bags for buyers, with the certificate")),
    (BLEACH, gettext_lazy("The mark for bleach water")),
)
PAPER: tuple[tuple[str, Any], ...] = (
    ("a4-24", gettext_lazy("A4 sheet, 24 labels of 70 x 37 mm")),
    ("a4-14", gettext_lazy("A4 sheet, 14 labels of 99.1 x 38.1 mm")),
    ("roll-57", gettext_lazy("Roll 57 mm wide")),
    ("roll-62", gettext_lazy("Roll 62 mm wide")),
)


class LabelsForm(forms.Form):
    """Which labels; `of` narrows them to one thing or to what belongs to it."""

    what = Rows(WHAT, label=gettext_lazy("For what?"))
    paper = Rows(PAPER, label=gettext_lazy("On which paper?"))
    copies = Count(required=False, label=gettext_lazy("How many of each?"))
    skip = Count(
        least=0,
        required=False,
        label=gettext_lazy("How many labels of the first sheet are used already?"),
    )
    of = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def clean_copies(self) -> int:
        copies = self.cleaned_data["copies"] or 1
        if copies > COPIES_MOST:
            raise forms.ValidationError(_("At most %(most)s of each.") % {"most": COPIES_MOST})
        return int(copies)

    def clean_skip(self) -> int:
        return int(self.cleaned_data["skip"] or 0)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        form = FORMATS.get(given.get("paper", ""))
        if form and given.get("skip", 0) >= form.places > 1:
            said = _("A sheet has %(places)s labels.") % {"places": form.places}
            self.add_error("skip", said)
        return given


@page
@require_safe
def choose_labels(request: HttpRequest, site: UUID) -> HttpResponse:
    """The choice, or the PDF once something is chosen."""
    at = here(request, site)
    chosen = "paper" in request.GET
    first = {"what": request.GET.get("what"), "of": request.GET.get("of"), "paper": "a4-24"}
    form = LabelsForm(request.GET if chosen else None, initial=first)
    empty = False
    if chosen and form.is_valid():
        address = address_of(request)
        file = labels_file(form.cleaned_data, site, Saying(at.zone, at.now, at.units, address))
        if file is not None:
            return file
        empty = True
    context = {
        "form": form,
        "empty": empty,
        "back": reverse("shift", args=[site]),
    }
    status = 400 if form.errors else 404 if empty else 200
    return show(request, at, "labels", context, current="labels", status=status)


def labels_file(chosen: dict[str, Any], site: UUID, said: Saying) -> HttpResponse | None:
    """The labels as a PDF to look at and print; None where there is nothing to print."""
    what, copies = chosen["what"], chosen["copies"]
    if what == BLEACH:
        found = [bleach_water()]
    else:
        rows = labels_of(site, what, of=chosen.get("of"), at=said.now)
        found = labels(rows, said)
    if not found:
        return None
    file = io.BytesIO()
    each = [one for one in found for _n in range(copies)]
    title = _("Labels")
    write_labels(each, FORMATS[chosen["paper"]], file, title=title, skip=chosen["skip"])
    answer = HttpResponse(file.getvalue(), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="labels-{what}.pdf"'
    return answer
