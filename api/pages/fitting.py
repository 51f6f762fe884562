"""A piece goes into a kit or a container, or turns out to be broken; also told afterwards."""

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import One, Words
from api.pages.forms import recorded, show_form
from api.pages.shell import Here, here, page
from api.pages.treating import say_states
from api.pages.words import plain
from stock import access
from stock.doors.fittings import Fitting, fit_piece, mark_defective
from stock.queries.choices import Choice, PieceChoice, equipment_choices, piece_choices

METHODS = ["GET", "HEAD", "POST"]
CHOOSE = ("", later("Choose one"))
NONE = ("", later("None"))


class FittingForm(Told):
    WITHOUT = ("set_aside", "why_aside")

    piece = One(label=later("Which piece?"))
    into = One(label=later("Into which kit or container?"))
    replaces = One(required=False, label=later("In place of which piece?"))
    is_broken = forms.BooleanField(
        required=False, label=later("The piece taken out is defective")
    )

    def __init__(
        self, *args: Any, pieces: list[Any], places: list[Any], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self._choose("piece", [CHOOSE, *pieces])
        self._choose("into", [CHOOSE, *places])
        self._choose("replaces", [NONE, *pieces])

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("is_broken") and not given.get("replaces"):
            self.add_error("replaces", _("Say which piece is defective."))
        return given

    def fitting(self, kits: frozenset[UUID]) -> Fitting:
        given = self.cleaned_data
        into = UUID(given["into"])
        return Fitting(
            piece=UUID(given["piece"]),
            kit=into if into in kits else None,
            container=None if into in kits else into,
            replaces=UUID(given["replaces"]) if given["replaces"] else None,
            replaced_is_defective=given["is_broken"],
        )


class DefectForm(Told):
    WITHOUT = ("set_aside", "why_aside", "standing")

    piece = One(label=later("Which piece?"))
    what = Words(most=400, label=later("What is wrong with it?"))

    def __init__(self, *args: Any, pieces: list[Any], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("piece", [CHOOSE, *pieces])


@page
@require_http_methods(METHODS)
def fit(request: HttpRequest, site: UUID) -> HttpResponse:
    """Put a piece in, perhaps for another one; late, for the kit of that moment."""
    at = here(request, site, access.HANDS)
    found = equipment_choices(site, at.now)
    places = [(_("Kits"), _places(found.kits)), (_("Containers"), _places(found.containers))]
    form = FittingForm(
        request.POST or None,
        at=at,
        pieces=_pieces(at),
        places=[(name, rows) for name, rows in places if rows],
        initial={"into": request.GET.get("subject", "")},
    )
    kits = frozenset(one.uid for one in found.kits)
    names = {"kit": "into", "container": "into"}
    done = send(
        request, form, lambda asked: fit_piece(asked, fitting=form.fitting(kits)), names
    )
    if done:
        if recorded(request, done, _("The piece is in.")):
            say_states(request, _told(done.body))
        return redirect("kits", site)
    return show_form(
        request,
        at,
        form,
        _("Fit a piece"),
        do=_("It is in"),
        back=("kits", site),
        current="kits",
        cautions=cautions.handling(),
        lead=_(
            "Where it was before lacks it from that moment on. Told late, every "
            "use since becomes a question."
        ),
    )


@page
@require_http_methods(METHODS)
def broken(request: HttpRequest, site: UUID) -> HttpResponse:
    """A piece is defective: what it belongs to is not complete until another one is in."""
    at = here(request, site, access.HANDS)
    form = DefectForm(request.POST or None, at=at, pieces=_pieces(at))
    done = send(
        request,
        form,
        lambda asked: mark_defective(
            asked,
            piece=UUID(form.cleaned_data["piece"]),
            what=form.cleaned_data["what"],
        ),
    )
    if done:
        if recorded(request, done, _("The piece is marked as defective.")):
            say_states(request, _told(done.body))
        return redirect("kits", site)
    return show_form(
        request,
        at,
        form,
        _("A piece is defective"),
        do=_("It is defective"),
        back=("kits", site),
        current="kits",
        cautions=cautions.handling(),
        lead=_("A defective piece is fitted nowhere again."),
    )


def _told(body: dict[str, Any]) -> list[dict[str, Any]]:
    """The piece, and each kit and container that the answer names."""
    return [one for one in (body["piece"], *body["kits"], body["container"]) if one]


def _pieces(at: Here) -> list[tuple[str, list[tuple[str, str]]]]:
    """Every piece under what it is."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for one in piece_choices(at.site.uid, at.now):
        groups.setdefault(plain(one.type), []).append((str(one.uid), _said(one)))
    return sorted(groups.items())


def _said(one: PieceChoice) -> str:
    where = _(", in {kit}").format(kit=one.kit) if one.kit else ""
    return f"{one.label}, {plain(one.state)}{where}"


def _places(found: tuple[Choice, ...]) -> list[tuple[str, str]]:
    """Each with the batch in it, or the container it works in."""
    return [
        (str(one.uid), f"{one.label}, {one.used_by}" if one.used_by else one.label)
        for one in found
    ]
