"""Moving a batch, step by step: what is asked on the way, and what is recorded at its end."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from api.pages import moving_begun, stocking
from api.pages.amounts import on_a_slip
from api.pages.asking import send
from api.pages.forms import recorded, show_form
from api.pages.moving_forms import LateMoveForm, StepsForm
from api.pages.moving_steps import opened, sections
from api.pages.moving_told import done, told_before
from api.pages.shell import Here, here, page, show
from api.pages.tablet import people_here
from protocols.slip_amounts import FillAmount
from protocols.values import Standing
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.moves import move_batch
from stock.queries.amounts import fill_like
from stock.queries.batch_seen import stays_of
from stock.queries.begun_moves import Begun, begun_move
from stock.queries.choices import Choices, equipment_choices, pieces_of_kit
from stock.queries.people import hands_at
from stock.queries.stocking_seen import takes_of_batch
from stock.refusals import Refused, refuse


@page
@require_http_methods(["GET", "HEAD", "POST"])
def move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The stay that was open when the page was opened is the one that ends."""
    rows = stays_of(uid, with_water=True)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = rows[-1]
    if request.method != "POST" and stay.ended_latest is not None:
        raise Refused(refuse("batch_closed", _("Nobody of this batch is here any more.")))
    equipment = equipment_choices(at.site.uid, at.now)
    begun = begun_move(stay.uid) if request.method != "POST" else None
    goes_on = begun if "go-on" in request.GET else None
    form = StepsForm(
        request.POST or None,
        at=at,
        equipment=equipment,
        people=hands_at(at.site.uid),
        initial={
            **_beside(request, at, goes_on),
            **(moving_begun.initial_of(goes_on, at) if goes_on else {}),
            "ended_stay": stay.uid,
        },
    )
    before: list[dict[str, Any]] = []
    answer = send(request, form, lambda asked: _tell(form, asked, at, uid, before))
    if answer:
        if recorded(request, answer, done(answer.body)):
            stocking.warn(request, answer, at.units)
        return redirect("batch", uid)
    form.count_again()
    return _show_steps(request, at, form, stay, equipment, goes_on or begun, before)


def _tell(
    form: StepsForm, asked: Asking, at: Here, batch: UUID, before: list[dict[str, Any]]
) -> Answered:
    """The move counts from when they were counted in, which was a while before it is told.

    What somebody told of it before is left in `before`.
    """
    told = replace(asked, performed_at=asked.performed_at - form.ago)
    try:
        return move_batch(told, site=at.site, asked=form.asked(batch))
    except Refused as refused:
        if refused.existing:
            before.append(refused.existing)
        raise


def _beside(request: HttpRequest, at: Here, begun: Begun | None) -> dict[str, Any]:
    """Who stands beside: signed in on this tablet too, or who had begun."""
    signed_in = [one.uid for one in people_here(request) if one.uid != at.person.uid]
    others = [*(begun.others(at.person.uid) if begun else ()), *signed_in]
    return {"beside": str(others[-1])} if others else {}


def _show_steps(
    request: HttpRequest,
    at: Here,
    form: StepsForm,
    stay: Any,
    equipment: Choices,
    begun: Begun | None,
    before: list[dict[str, Any]],
) -> HttpResponse:
    ready = [one.uid for one in stocking.ready(equipment.containers)]
    takes = takes_of_batch(stay.batch, ready, at.now)
    found = sections(
        form,
        source=stay.container.label,
        pieces=pieces_of_kit(stay.kit_id),
        minded=stocking.minded(takes),
    )
    goes_on = begun is not None and "go-on" in request.GET
    context = {
        "form": form,
        "heading": _("Move %(batch)s out of %(container)s")
        % {"batch": stay.batch.code, "container": stay.container.label},
        "back": reverse("batch", args=[stay.batch_id]),
        "lead": _water_first(fill_like(stay, at.site.uid), at),
        "table": stocking.takes_table(takes, at),
        "table_says": stocking.PLANNING,
        "sections": found,
        "hidden": [one for one in form.main() if one.is_hidden],
        "opens": begun.step if goes_on and begun else opened(found, form),
        "stay": stay,
        "begun": begun,
        "goes_on": goes_on,
        "told_before": told_before(before[0], form, at) if before else None,
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "move", context, status=status)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def late_move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A late entry: it counts as told, and for certain once a second person confirms it."""
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = rows[-1]
    form = LateMoveForm(
        request.POST or None,
        at=at,
        equipment=equipment_choices(at.site.uid, at.now),
        people=hands_at(at.site.uid),
        initial={"ended_stay": stay.uid, "doer": str(at.person.uid)},
    )
    answer = send(request, form, lambda asked: _tell_late(form, asked, at, uid))
    if answer:
        recorded(request, answer, f"{done(answer.body)} {_('A second person confirms it.')}")
        return redirect("batch", uid)
    return show_form(
        request,
        at,
        form,
        _("%(batch)s was moved out of %(container)s, and nobody told it")
        % {"batch": stay.batch.code, "container": stay.container.label},
        do=_("Record what was done"),
        back=("batch", uid),
        lead=LATE_LEAD,
    )


LATE_LEAD = gettext_lazy(
    "What is told late is asked about until somebody confirms it who neither did it nor tells "
    "it. Until then the next limit counts from the time given here."
)


def _tell_late(form: LateMoveForm, asked: Asking, at: Here, batch: UUID) -> Answered:
    doer = UUID(form.cleaned_data["doer"])
    told = replace(asked, standing=Standing.HAPPENED, doer=doer)
    return move_batch(told, site=at.site, asked=form.asked(batch))


def _water_first(amount: FillAmount | None, at: Here) -> str:
    """A move needs fresh readings of both waters, and a container that is filled alike."""
    first = _("Both waters are read first.")
    if amount is None:
        return first
    takes = _("A container as large as theirs takes %(amount)s.")
    return f"{takes % {'amount': on_a_slip(at.units, amount)}} {first}"
