"""Probes: what each sent last, which sends nothing, and a table of values as a file."""

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from api.pages.amounts import reading
from api.pages.asking import Told, send
from api.pages.forms import recorded, show_form
from api.pages.links import label, when
from api.pages.parts import Table
from api.pages.shell import Here, here, page, show
from stock import access
from stock.doors.probes import take_table
from stock.queries.probes import ProbeNow, probes_seen

FILE_MOST = 1_000_000
STATES = {
    "probe_sends": gettext_lazy("sends"),
    "probe_silent": gettext_lazy("sends nothing: go and look"),
    "probe_stuck": gettext_lazy("shows the same value again and again: go and look"),
    "probe_idle": gettext_lazy("no animals there now"),
}


class TableForm(Told):
    """A file of values; they are recorded once, however often it is sent."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside")

    file = forms.FileField(
        label=gettext_lazy("The table"),
        help_text=gettext_lazy(
            "CSV with the columns time (with its offset from UTC), probe, container, quantity, "
            "unit, value. An empty value is a gap, which proves nothing."
        ),
    )

    def clean_file(self) -> str:
        file = self.cleaned_data["file"]
        if file.size > FILE_MOST:
            raise forms.ValidationError(_("Send at most one million letters at a time."))
        try:
            return str(file.read().decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            raise forms.ValidationError(_("This is no text in UTF-8.")) from error


@page
@require_safe
def probes(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site)
    found = probes_seen(site, at.now)
    wrong = sum(one.state in ("probe_silent", "probe_stuck") for one in found)
    says = _("%(n)d to look at") % {"n": wrong} if wrong else _("None fails.")
    context = {
        "says": says if found else "",
        "table": _table(found, at),
        "send": reverse("send-probe-values", args=[site]) if at.works else "",
    }
    return show(request, at, "probes", context, current="probes")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def send_values(request: HttpRequest, site: UUID) -> HttpResponse:
    """A table of values as a file."""
    at = here(request, site, access.HANDS)
    form = TableForm(request.POST or None, request.FILES or None, at=at)
    done = send(
        request,
        form,
        lambda asked: take_table(asked, site=site, text=form.cleaned_data["file"]),
        {"csv": "file"},
    )
    if done:
        recorded(request, done, _("The values are recorded."))
        return redirect("probes", site)
    back = ("probes", site)
    return show_form(request, at, form, _("Values of probes"), back=back, current="probes")


def _table(found: list[ProbeNow], at: Here) -> Table:
    rows: list[tuple[Any, ...]] = [
        (
            label(one.label),
            label(one.container_label),
            one.quantity.replace("_", " "),
            reading(at.units, one.quantity, one.value, one.unit),
            when(one.last_at, at.zone),
            STATES[one.state],
        )
        for one in found
    ]
    columns = (
        *(_("Probe"), _("Container"), _("Quantity")),
        *(_("Newest value"), _("At"), _("How it stands")),
    )
    return Table(_("Probes"), columns, rows, empty=_("No probe has sent a value yet."))
