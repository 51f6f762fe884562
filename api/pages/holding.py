"""Holds on a batch, and animals that nobody finds."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import Count, One, Rows, Words
from api.pages.forms import recorded, show_form
from api.pages.shell import Here, here, page
from stock import access
from stock.doors.counts import find_again, presume_lost
from stock.doors.signs import lift_hold, place_hold
from stock.queries.batch_seen import batch_head
from stock.queries.choices import equipment_choices
from stock.queries.missing_seen import hold_seen, missing_seen

METHODS = ["GET", "HEAD", "POST"]

# -- Holds -------------------------------------------------------------------------------------


class WhyForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    why = Words(label=later("Why?"), lines=True)


@page
@require_http_methods(METHODS)
def hold(request: HttpRequest, uid: UUID) -> HttpResponse:
    batch = batch_head(uid)
    at = here(request, batch.site_id, access.DECIDERS)
    form = WhyForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: place_hold(asked, batch=uid, why=form.cleaned_data["why"]),
    )
    if done:
        messages.success(request, _("The batch is on hold."))
        return redirect("batch", uid)
    return show_form(
        request,
        at,
        form,
        _("Hold {batch}").format(batch=batch.code),
        do=_("Hold it"),
        back=("batch", uid),
        lead=_("Nothing of it is certified or leaves until the hold is lifted."),
    )


@page
@require_http_methods(METHODS)
def lift(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = hold_seen(uid)
    at = here(request, row.batch.site_id, access.DECIDERS)
    form = WhyForm(request.POST or None, at=at)
    done = send(
        request, form, lambda asked: lift_hold(asked, hold=uid, why=form.cleaned_data["why"])
    )
    if done:
        messages.success(request, _("The hold is lifted."))
        return redirect("batch", row.batch_id)
    return show_form(
        request,
        at,
        form,
        _("Lift the hold on {batch}").format(batch=row.batch.code),
        do=_("Lift the hold"),
        back=("batch", row.batch_id),
        lead=row.why,
    )


# -- Animals that nobody finds -----------------------------------------------------------------


class FoundForm(Told):
    WITHOUT = ("set_aside", "why_aside")

    count = Count(label=later("How many are found?"))
    container = One(label=later("Where?"))
    alive = Rows((("yes", later("Alive")), ("no", later("Dead"))), label=later("How?"))

    def __init__(self, *args: Any, places: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("container", [("", _("Choose one")), *places])


@page
@require_http_methods(METHODS)
def found(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = missing_seen(uid)
    at = here(request, row.batch.site_id, access.HANDS)
    form = FoundForm(request.POST or None, at=at, places=_places(at))
    done = send(
        request,
        form,
        lambda asked: find_again(
            asked,
            missing=uid,
            count=form.cleaned_data["count"],
            container=UUID(form.cleaned_data["container"]),
            alive=form.cleaned_data["alive"] == "yes",
        ),
    )
    if done:
        recorded(request, done, _("Found, and no longer searched for."))
        return redirect("batch", row.batch_id)
    heading = _("Found of {batch}").format(batch=row.batch.code)
    return show_form(request, at, form, heading, back=("batch", row.batch_id))


def _places(at: Here) -> list[tuple[str, str]]:
    containers = equipment_choices(at.site.uid, at.now).containers
    return [
        (str(one.uid), f"{one.label}, {one.used_by}" if one.used_by else one.label)
        for one in containers
    ]


class PresumeForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    count = Count(label=later("How many are presumed lost?"))
    why = Words(label=later("Why?"), lines=True)


@page
@require_http_methods(METHODS)
def presume(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = missing_seen(uid)
    at = here(request, row.batch.site_id, access.MANAGERS)
    form = PresumeForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: presume_lost(
            replace(asked, reason=form.cleaned_data["why"]),
            missing=uid,
            count=form.cleaned_data["count"],
        ),
        {"reason": "why"},
    )
    if done:
        messages.success(request, _("Presumed lost. If they are found, that undoes it."))
        return redirect("batch", row.batch_id)
    return show_form(
        request,
        at,
        form,
        _("Presume lost of {batch}").format(batch=row.batch.code),
        do=_("Presume them lost"),
        back=("batch", row.batch_id),
    )
