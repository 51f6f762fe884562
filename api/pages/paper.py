"""Sheets for a power cut: printed before or in it, typed in afterwards, each line once."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.language import local_text, spoken
from api.pages.fields import One
from api.pages.links import link, when
from api.pages.paper_line import NAME
from api.pages.paper_words import heading_of, sheet_pdf
from api.pages.parts import Table
from api.pages.shell import Here, here, page, show
from protocols.paper import LineKind, SheetLine, line_named
from protocols.tasks import What
from stock import access
from stock.doors.paper import add_photo, print_sheet
from stock.queries.paper import Sheet, Typed, sheet_seen, sheets_of, typed_lines, who_is_where
from stock.refusals import NotFound, Refused

TREATED = {What.DISINFECT.value: "disinfect", What.SEE_DRY.value: "see-dry"}


@page
@require_safe
def paper(request: HttpRequest, site: UUID) -> HttpResponse:
    """The sheets that were printed, and the button for today's."""
    at = here(request, site, access.HANDS)
    rows = [
        (link(one.code, "paper-sheet", one.uid), when(one.made_at, at.zone), len(one.lines))
        for one in sheets_of(site)
    ]
    columns = (_("Sheet"), _("Printed"), _("Lines"))
    table = Table(_("Sheets"), columns, rows, frozenset({2}), _("None was printed yet."))
    return show(request, at, "paper", {"table": table}, current="paper")


@page
@require_POST
def print_today(request: HttpRequest, site: UUID) -> HttpResponse:
    """Print what is due now; printing twice makes two sheets, which harms nobody."""
    at = here(request, site, access.HANDS)
    sheet = print_sheet(site, at=at.now, by=at.person)
    return redirect("paper-pdf", sheet.uid)


@page
@require_safe
def pdf(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The sheet to print, as often as it is asked for."""
    sheet, at = _sheet(request, uid)
    answer = HttpResponse(
        sheet_pdf(sheet, site=at.site.name, zone=at.zone), content_type="application/pdf"
    )
    answer["Content-Disposition"] = f'inline; filename="sheet-{sheet.code}.pdf"'
    return answer


class PhotoForm(forms.Form):
    """A photo or scan of the written sheet."""

    photo = forms.FileField(label=gettext_lazy("A photo of the written sheet"))


@page
@require_http_methods(["GET", "HEAD", "POST"])
def sheet(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Its lines, which of them are on record, and the ways to type in the others."""
    found, at = _sheet(request, uid)
    form = PhotoForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        photo = form.cleaned_data["photo"]
        try:
            add_photo(at.person, sheet=uid, upload=photo, name=photo.name, at=at.now)
        except Refused as refused:
            form.add_error("photo", refused.reasons[0].text)
        else:
            said = _("The photo is kept. The lines typed in from now on name it.")
            messages.success(request, said)
            return redirect("paper-sheet", uid)
    typed = typed_lines(found)
    context = {
        "sheet": found,
        "form": form,
        "says": _("%(done)s of %(all)s typed in")
        % {"done": len(typed), "all": len(found.lines)},
        "tables": [_table(kind, found, typed, at) for kind in LineKind],
    }
    status = 400 if form.errors else 200
    return show(request, at, "paper_sheet", context, current="paper", status=status)


class WhichForm(forms.Form):
    """For a line that names no batch: where it was."""

    def __init__(self, *args: Any, places: list[tuple[str, str]]) -> None:
        super().__init__(*args)
        label = _("In which container was it?")
        self.fields["batch"] = One([("", _("Choose one")), *places], label=label)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def line(request: HttpRequest, uid: UUID, n: int) -> HttpResponse:
    """To the form of a line; one that names no batch asks first where it was."""
    found, at = _sheet(request, uid)
    one = line_named(found.lines, n)
    if one is None:
        raise NotFound
    if (target := _target(one, at)) is not None:
        return redirect(_from_sheet(target, found, n))
    form = WhichForm(request.POST or None, places=who_is_where(at.site.uid))
    if form.is_valid():
        name = "loss" if one.kind is LineKind.LOSS else "batch"
        target = reverse(name, args=[form.cleaned_data["batch"]])
        return redirect(_from_sheet(target, found, n) if name == "loss" else target)
    context = {
        "form": form,
        "heading": _("Line %(n)s of sheet %(code)s") % {"n": n, "code": found.code},
        "back": reverse("paper-sheet", args=[uid]),
    }
    status = 400 if form.is_bound else 200
    return show(request, at, "paper_line", context, current="paper", status=status)


def _sheet(request: HttpRequest, uid: UUID) -> tuple[Sheet, Here]:
    found = sheet_seen(uid)
    return found, here(request, found.site, access.HANDS)


def _from_sheet(target: str, sheet: Sheet, n: int) -> str:
    joined = "&" if "?" in target else "?"
    return f"{target}{joined}{urlencode({NAME: f'{sheet.uid}.{n}'})}"


def _target(one: SheetLine, at: Here) -> str | None:
    """The form of a line; None where somebody has to say first what it is about."""
    site = at.site.uid
    if one.kind is LineKind.MOVE:
        return reverse("late-move", args=[one.batch])
    if one.kind is LineKind.ROUND:
        return f"{reverse('make-round', args=[site])}?room={one.room}"
    if one.kind is LineKind.READING:
        return reverse("read-water", args=[one.container])
    subject = one.kit or one.container
    if one.what in TREATED and subject:
        return f"{reverse(TREATED[one.what], args=[site])}?subject={subject}"
    if one.kind is not LineKind.WORK:
        return None
    if one.batch:
        return reverse("batch", args=[one.batch])
    return (
        reverse("container", args=[one.container])
        if one.container
        else reverse("shift", args=[site])
    )


def _table(kind: LineKind, sheet: Sheet, typed: Mapping[int, Typed], at: Here) -> Table:
    rows = [
        (
            one.n,
            ", ".join(part for part in (one.label, spoken(one.text)) if part),
            _state(one, sheet, typed, at),
        )
        for one in sheet.lines
        if one.kind is kind
    ]
    columns = (_("Line"), _("What"), _("On record"))
    return Table(heading_of(kind), columns, rows, empty=_("None on this sheet."))


def _state(one: SheetLine, sheet: Sheet, typed: Mapping[int, Typed], at: Here) -> object:
    done = typed.get(one.n)
    if done is None:
        return link(_("Type in line %(n)s") % {"n": one.n}, "paper-line", sheet.uid, one.n)
    said = _("%(happened)s, typed in by %(who)s")
    return said % {"happened": local_text(done.happened_at, at.zone), "who": done.who}
