"""What is kept for how long, legal holds, and erasing names while every proof still holds."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import Several, Words
from api.pages.forms import show_form
from api.pages.links import link, when
from api.pages.parts import Table
from api.pages.reports.codes import batches_typed
from api.pages.shell import Here, here, page, show
from stock import access
from stock.doors.erasing import erase_name, erase_texts, lift_legal_hold, place_legal_hold
from stock.queries.retention import (
    could_be_erased,
    hold_row,
    holds_shown,
    people_to_erase,
    texts_with,
)
from stock.refusals import NotFound

METHODS = ["GET", "HEAD", "POST"]


class ReasonForm(Told):
    """Why is said first; nothing here is asked without network."""

    at_once = True
    ABOUT: tuple[str, ...] = ()
    WITHOUT: tuple[str, ...] = ("when", "standing", "set_aside", "why_aside", "note")

    reason = Words(
        lines=True,
        label=later("Why?"),
        help_text=later("It stays on record for good: write no names into it."),
    )


class HoldForm(ReasonForm):
    batches = Words(
        required=False,
        label=later("Only of these batches, by their codes"),
        help_text=later("With commas between. Left empty: the whole site."),
    )

    def clean_batches(self) -> list[UUID]:
        return batches_typed(self.at.site.uid, self.cleaned_data["batches"])


class TextsForm(ReasonForm):
    """Which of the texts found are erased; that they are still kept is set aside by name."""

    ABOUT = ("set_aside", "why_aside")
    WITHOUT = ("when", "standing", "note")

    facts = Several(label=later("Which are erased?"))


class SearchForm(forms.Form):
    word = Words(most=80, label=later("A name or word that stands in the notes"))


@page
@require_safe
def erasing(request: HttpRequest, site: UUID) -> HttpResponse:
    """Holds, what could be erased, and who left."""
    at = here(request, site, access.MANAGERS)
    context = {
        "could": could_be_erased(site, at.now),
        "holds": _holds(site, at),
        "people": _people(at),
        "search": SearchForm(),
        "place": reverse("place-legal-hold", args=[site]),
        "texts": reverse("erase-texts", args=[site]),
    }
    return show(request, at, "erasing", context, current="erasing")


@page
@require_http_methods(METHODS)
def place_hold(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.MANAGERS)
    form = HoldForm(request.POST or None, at=at)
    if send(
        request,
        form,
        lambda asked: place_legal_hold(asked, site=site, batches=form.cleaned_data["batches"]),
    ):
        messages.success(request, _("The legal hold stands."))
        return redirect("erasing", site)
    lead = _("Nothing that it covers is erased until it is lifted, whatever the years say.")
    return _form(request, at, form, _("A legal hold"), do=_("Place it"), lead=lead)


@page
@require_http_methods(METHODS)
def lift_hold(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = hold_row(uid)
    if row is None:
        raise NotFound
    at = here(request, row.site_id, access.MANAGERS)
    form = ReasonForm(request.POST or None, at=at)
    if send(request, form, lambda asked: lift_legal_hold(asked, hold=uid)):
        messages.success(request, _("The legal hold is lifted."))
        return redirect("erasing", row.site_id)
    return _form(request, at, form, _("Lift the legal hold"), do=_("Lift it"))


@page
@require_http_methods(METHODS)
def texts(request: HttpRequest, site: UUID) -> HttpResponse:
    """Texts in which a word stands; those that are ticked are erased."""
    at = here(request, site, access.MANAGERS)
    search = SearchForm(request.GET)
    if not search.is_valid():
        return redirect("erasing", site)
    found = texts_with(site, search.cleaned_data["word"])
    form = TextsForm(request.POST or None, at=at)
    choices: dict[str, str] = {}
    for one in found:
        said = f"{one.seq + 1}: {one.value}"
        known = choices.get(str(one.fact))
        choices[str(one.fact)] = f"{known} / {one.value}" if known else said
    form._choose("facts", choices.items())
    if send(
        request,
        form,
        lambda asked: erase_texts(
            asked, site=site, facts=[UUID(one) for one in form.cleaned_data["facts"]]
        ),
    ):
        messages.success(request, _("The texts are erased."))
        return redirect("erasing", site)
    lead = _(
        "Found: {count}. Each row is an entry of the record book with its note. The entry"
        " stays; what is written beside it goes for good."
    ).format(count=len(choices))
    return _form(request, at, form, _("Erase texts"), do=_("Erase them for good"), lead=lead)


@page
@require_http_methods(METHODS)
def name(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """The name and address of somebody who left."""
    at = here(request, site, access.MANAGERS)
    gone = {one.uid: one.name for one in people_to_erase(at.person.organisation)}
    if uid not in gone:
        raise NotFound
    form = ReasonForm(request.POST or None, at=at)
    if send(request, form, lambda asked: erase_name(asked, person=uid)):
        messages.success(request, _("The name is erased."))
        return redirect("erasing", site)
    heading = _("Erase the name of {name}").format(name=gone[uid])
    lead = _(
        "Name, address and everything to sign in with go for good. What they told stays, under"
        " a mark that names nobody. Look for the name in notes as well."
    )
    return _form(request, at, form, heading, do=_("Erase it for good"), lead=lead)


def _holds(site: UUID, at: Here) -> Table:
    rows = [
        (
            ", ".join(one["batches"]) or _("the whole site"),
            when(one["at"], at.zone),
            one["reason"] or "",
            when(one["lifted_at"], at.zone)
            or link(_("Lift the legal hold"), "lift-legal-hold", one["uid"]),
        )
        for one in holds_shown(site, at.zone)
    ]
    columns = (_("Over"), _("Since"), _("Why"), _("Lifted"))
    return Table(_("Legal holds"), columns, rows, empty=_("None stands."))


def _people(at: Here) -> Table:
    rows = [
        (one.name, link(_("Erase the name"), "erase-name", at.site.uid, one.uid))
        for one in people_to_erase(at.person.organisation)
    ]
    return Table(
        _("Whose account is ended"),
        (_("Name"), ""),
        rows,
        empty=_("Of nobody who left a name is still here."),
    )


def _form(
    request: HttpRequest, at: Here, form: Told, heading: str, *, do: str, lead: str = ""
) -> HttpResponse:
    back = ("erasing", at.site.uid)
    return show_form(request, at, form, heading, back=back, do=do, lead=lead, current="erasing")
