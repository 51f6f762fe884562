"""Setting up what a site works with: places, equipment, suppliers, people."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later
from api.pages import set_up_forms as forms
from api.pages.asking import send
from api.pages.forms import show_form
from api.pages.parts import PageLink
from api.pages.shell import Here, here, page, show
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.fittings import Fitting, fit_piece
from stock.doors.people import NewPerson, add_person
from stock.doors.suppliers import make_species, make_supplier
from stock.doors.things import SORTS, make_thing

Make = Callable[[Asking, Here, Any], Answered]


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of thing to set up: its words, its form, and the door it goes through."""

    words: str
    form: type[forms.SetUp]
    make: Make


@page
@require_safe
def set_up(request: HttpRequest, site: UUID) -> HttpResponse:
    """What can be set up, in the order in which a new site needs it."""
    at = here(request, site, access.MANAGERS)
    ways = [
        PageLink(sort.words, reverse(f"set-up-{name}", args=[site]))
        for name, sort in KINDS.items()
    ]
    return show(request, at, "set_up", {"ways": ways}, current="set-up")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def set_up_one(request: HttpRequest, site: UUID, what: str) -> HttpResponse:
    """One form; after it is recorded the next of the sort can be typed."""
    sort = KINDS[what]
    at = here(request, site, access.MANAGERS)
    form = sort.form(request.POST or None, at=at)
    if send(request, form, lambda asked: sort.make(asked, at, form)):
        messages.success(request, f"{sort.words}: {form.named()}.")
        return redirect(f"set-up-{what}", site)
    return show_form(
        request,
        at,
        form,
        _("Set up: {sort}").format(sort=sort.words.lower()),
        do=_("Set it up"),
        back=("set-up", site),
        current="set-up",
    )


def _thing(sort: str) -> Make:
    """Whatever bears a label at a site: the form's values are the body of its fact."""

    def make(asked: Asking, at: Here, form: forms.Labelled) -> Answered:
        return make_thing(asked, site=at.site.uid, sort=SORTS[sort], body=form.body())

    return make


def _piece(asked: Asking, at: Here, form: forms.PieceForm) -> Answered:
    """A piece, put into its kit at once."""
    answer = make_thing(asked, site=at.site.uid, sort=SORTS["pieces"], body=form.body())
    kit = form.cleaned_data["kit"]
    if not kit:
        return answer
    fitting = Fitting(UUID(str(answer.body["piece"]["uid"])), UUID(kit))
    return fit_piece(replace(asked, key=f"{asked.key}-fitted", uid=None), fitting=fitting)


def _supplier(asked: Asking, at: Here, form: forms.SupplierForm) -> Answered:
    return make_supplier(asked, name=form.cleaned_data["name"], settings=form.settings())


def _species(asked: Asking, at: Here, form: forms.SpeciesForm) -> Answered:
    return make_species(asked, body=form.body())


def _person(asked: Asking, at: Here, form: forms.PersonForm) -> Answered:
    given: Mapping[str, Any] = form.cleaned_data
    person = NewPerson(given["name"], given["email"], given["password"])
    roles = [{"site": str(at.site.uid), "role": role} for role in given["roles"]]
    return add_person(asked, person=person, roles=roles)


KINDS: dict[str, Sort] = {
    "room": Sort(later("A room"), forms.RoomForm, _thing("rooms")),
    "rack": Sort(later("A rack"), forms.RackForm, _thing("racks")),
    "container": Sort(later("A container"), forms.ContainerForm, _thing("containers")),
    "kit": Sort(later("A kit"), forms.KitForm, _thing("kits")),
    "piece": Sort(later("A piece"), forms.PieceForm, _piece),
    "instrument": Sort(later("An instrument"), forms.InstrumentForm, _thing("instruments")),
    "salt-lot": Sort(later("A salt lot"), forms.SaltLotForm, _thing("salt-lots")),
    "bleach": Sort(later("A bottle of bleach"), forms.BleachForm, _thing("bleaches")),
    "supplier": Sort(later("A supplier"), forms.SupplierForm, _supplier),
    "species": Sort(later("A species"), forms.SpeciesForm, _species),
    "person": Sort(later("A person"), forms.PersonForm, _person),
}
