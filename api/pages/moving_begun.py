"""On the way through a move: what was said so far is kept, and asked of the rules."""

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from api.pages.asking import asking
from api.pages.moving_forms import NO_KIT, StepsForm
from api.pages.moving_steps import STEPS
from api.pages.objections import objections
from api.pages.own_water import in_own_units
from api.pages.shell import Here, here, page
from api.rest.problems import status_of
from protocols.clocks import local_text
from protocols.uids import uid_or_none
from stock import access
from stock.doors.begun_moves import keep_begun_move
from stock.doors.moves import MoveAsked, may_move_now
from stock.queries.batch_seen import stays_of
from stock.queries.begun_moves import Begun, begun_move
from stock.refusals import NotFound, Refused, refuse

KEPT_MOST = 16_000  # characters: a note of 4000 and the fields around it
AGO = "ago_s"
NOT_KEPT = frozenset({"ended_stay"})


@page
@require_POST
def begun(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Keep what was said so far. Answered as data: a script asks, while somebody works."""
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = uid_or_none(request.POST.get("ended_stay", ""))
    if stay is None:
        raise NotFound
    try:
        kept = keep_begun_move(
            at.person,
            batch=uid,
            stay=stay,
            step=_step(request),
            values=_values(request),
            known=_known(request),
            at=at.now,
        )
    except Refused as refused:
        return _not_kept(refused, stay, uid, at)
    return JsonResponse({"version": kept.version})


def initial_of(kept: Begun, at: Here) -> dict[str, Any]:
    """What was said, as the form shows it again; the time that went by since is added."""
    found: dict[str, Any] = {}
    for name, said in kept.values.items():
        field = StepsForm.base_fields.get(name)
        if field is not None and said:
            several = isinstance(field, forms.MultipleChoiceField)
            found[name] = said if several else said[-1]
    if str(found.get(AGO, "")).isdecimal():
        found[AGO] = int(found[AGO]) + int((at.now - kept.saved_at).total_seconds())
    return found


@page
@require_POST
def check(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What stands against this container and kit now, the counts aside. Changes nothing."""
    stays = stays_of(uid)
    at = here(request, stays[0].batch.site_id, access.HANDS)
    container = uid_or_none(request.POST.get("container", ""))
    kit = request.POST.get("kit", "")
    if container is None:
        raise NotFound
    asked = MoveAsked(
        batch=uid,
        ended_stay=stays[-1].uid,
        container=container,
        kit=None if kit == NO_KIT else uid_or_none(kit),
        counts=(),
    )
    reasons = may_move_now(asking(request, at), site=at.site, asked=asked)
    found = [in_own_units(one, at.units) for one in reasons if one.rule != "count"]
    return render(request, "parts/move_check.html", {"objections": objections(found)})


def _step(request: HttpRequest) -> str:
    step = request.POST.get("step", "")
    if step not in STEPS:
        raise Refused(refuse("unreadable", "There is no such step.", pointer="/step"))
    return step


def _known(request: HttpRequest) -> int:
    typed = request.POST.get("version", "")
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 10 else 0


def _values(request: HttpRequest) -> dict[str, list[str]]:
    """The fields of the form as typed; no other, so neither key nor token is kept."""
    names = [name for name in StepsForm.base_fields if name not in NOT_KEPT]
    found = {name: request.POST.getlist(name) for name in names if request.POST.get(name)}
    if sum(len(one) for said in found.values() for one in said) > KEPT_MOST:
        raise Refused(refuse("too_large", "That is more than is kept of one move."))
    return found


def _not_kept(refused: Refused, stay: UUID, batch: UUID, at: Here) -> HttpResponse:
    """Why not, and who said what meanwhile, so that a person chooses."""
    answer: dict[str, Any] = {"code": refused.code}
    if refused.code == "changed" and (now := begun_move(stay)):
        answer |= {
            "version": now.version,
            "by": now.last,
            "at": local_text(now.saved_at, at.zone),
            "href": f"{reverse('move', args=[batch])}?go-on=1",
        }
    return JsonResponse(answer, status=status_of(refused.code))
