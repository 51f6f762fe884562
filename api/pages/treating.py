"""Disinfecting equipment, seeing it dry, finding it wet. Several things in one go."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later, written
from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import Figure, One, Several, WallTime
from api.pages.forms import show_form
from api.pages.shell import Here, here, page
from api.pages.words import plain
from stock import access
from stock.doors.door import Asking
from stock.doors.kits import Disinfection, disinfect, find_wet, see_dry
from stock.queries.choices import Choice, equipment_choices

METHODS = ["GET", "HEAD", "POST"]
AGENTS = (
    ("chlorine", later("Chlorine (bleach)")),
    ("vinegar", later("Vinegar: cleans, does not disinfect")),
    ("peroxide", later("Peroxide")),
    ("other", later("Something else")),
)
TIMES = later("Contact needs a beginning and an end.")


class SubjectsForm(Told):
    """Which kits and containers it is about; a kit stands for every piece in it."""

    WITHOUT: tuple[str, ...] = ("set_aside", "why_aside", "standing")

    subjects = Several(label=later("Which?"))

    def __init__(self, *args: Any, things: list[tuple[str, Any]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("subjects", things)

    def uids(self) -> list[UUID]:
        return [UUID(one) for one in self.cleaned_data["subjects"]]


class DisinfectionForm(SubjectsForm):
    cleaned = forms.BooleanField(required=False, label=later("Dirt was cleaned off before"))
    agent = One(AGENTS, label=later("With what?"))
    mg_per_l = Figure(
        required=False,
        unit="mg/L",
        label=later("Strength"),
        help_text=later("Free chlorine, as measured."),
    )
    measured = forms.BooleanField(
        required=False, label=later("The strength was measured, not assumed")
    )
    started = WallTime(label=later("Contact from"), error_messages={"required": TIMES})
    ended = WallTime(label=later("Contact to"), error_messages={"required": TIMES})
    rinsed = forms.BooleanField(required=False, label=later("It was rinsed after"))
    neutralised = forms.BooleanField(
        required=False, label=later("The chlorine was neutralised")
    )

    def done(self) -> Disinfection:
        given = self.cleaned_data
        return Disinfection(
            cleaned=given["cleaned"],
            agent=given["agent"],
            mg_per_l=given["mg_per_l"],
            measured=given["measured"],
            started_at=self.moments["started"],
            ended_at=self.moments["ended"],
            rinsed=given["rinsed"],
            neutralised=given["neutralised"] or None,
        )

    def ended_then(self, asked: Asking) -> Asking:
        """It was performed when contact ended, unless somebody says otherwise."""
        return asked if self.moment else replace(asked, performed_at=self.moments["ended"])


@page
@require_http_methods(METHODS)
def disinfection(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    form = DisinfectionForm(request.POST or None, at=at, **_given(request, at))
    done = send(
        request,
        form,
        lambda asked: disinfect(
            form.ended_then(asked), site=site, subjects=form.uids(), done=form.done()
        ),
        {"started_at": "started", "ended_at": "ended"},
    )
    if done:
        say_states(request, done.body["subjects"])
        return redirect("kits", site)
    return show_form(
        request,
        at,
        form,
        _("Disinfect"),
        do=_("Record the disinfection"),
        back=("kits", site),
        current="kits",
        cautions=cautions.treating(),
    )


@page
@require_http_methods(METHODS)
def dry(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    form = SubjectsForm(request.POST or None, at=at, **_given(request, at))
    if done := send(
        request, form, lambda asked: see_dry(asked, site=site, subjects=form.uids())
    ):
        say_states(request, done.body["subjects"])
        return redirect("kits", site)
    return show_form(
        request,
        at,
        form,
        _("Seen dry"),
        do=_("I see them dry"),
        back=("kits", site),
        current="kits",
        lead=_(
            "Look at what stays wet longest: air stone, air line, hollow elbows, "
            "shelter. The drying hours begin with this look; no timer makes "
            "anything ready."
        ),
    )


@page
@require_http_methods(METHODS)
def wet(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    form = SubjectsForm(request.POST or None, at=at, **_given(request, at, in_use=True))
    done = send(
        request,
        form,
        lambda asked: find_wet(asked, site=site, subjects=form.uids(), contradicts=None),
    )
    if done:
        say_states(request, done.body["subjects"])
        return redirect("kits", site)
    return show_form(
        request,
        at,
        form,
        _("Found wet"),
        do=_("Record that it was wet"),
        back=("kits", site),
        current="kits",
        lead=_(
            "If it was called dry before, every use since becomes a question, "
            "also one that goes on now."
        ),
    )


def _given(request: HttpRequest, at: Here, *, in_use: bool = False) -> dict[str, Any]:
    """What there is to choose from, and what the page before has chosen.

    What is in use is in somebody's water: that is not treated now.
    """
    found = equipment_choices(at.site.uid, at.now)
    groups = [
        (name, _rows(one for one in those if in_use or not one.used_by))
        for name, those in ((_("Kits"), found.kits), (_("Containers"), found.containers))
    ]
    chosen = request.GET.getlist("subject")
    return {
        "things": [(name, rows) for name, rows in groups if rows],
        "initial": {"subjects": chosen},
    }


def _rows(found: Iterable[Choice]) -> list[tuple[str, str]]:
    return [(str(one.uid), f"{one.label}, {plain(one.state)}") for one in found]


def say_states(request: HttpRequest, subjects: Iterable[dict[str, Any]]) -> None:
    """What became of each, and whom it reached."""
    for one in subjects:
        text = f"{one['label']}: {plain(one['state'])}."
        if one.get("ready_at_local"):
            text += _(" Ready {ready_at_local}.").format(
                ready_at_local=written(one["ready_at_local"])
            )
        # That it is in use is what its state says already.
        reasons = [why for why in one.get("why", ()) if why["rule"] != "in_use"]
        why = " ".join(reason["text"] for reason in reasons)
        reached = ", ".join(batch["code"] for batch in one.get("reached", ()))
        if reached:
            text += _(" It reaches {reached}.").format(reached=reached)
        level = messages.success if one["state"] in ("drying", "ready", "disinfected") else None
        (level or messages.warning)(request, f"{text} {why}".strip())
