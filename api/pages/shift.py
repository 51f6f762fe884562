"""The shift: what is due, by time left, where it is to be done."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.pages.amounts import on_a_slip
from api.pages.asking import Told, asking, send
from api.pages.chain import dark_of
from api.pages.fields import Words
from api.pages.forms import show_form
from api.pages.parts import Action, Night, PageLink, Slip, SlipGroup
from api.pages.pictures import strip_ends
from api.pages.shell import Here, here, new_key, page, show
from protocols.clocks import local_text
from protocols.slip_amounts import NO_BLEACH
from protocols.tasks import What
from stock import access
from stock.doors.work import complete_task, hand_back_task, take_task
from stock.queries.shift import Due, work_due
from stock.queries.tasks_seen import task_seen
from stock.queries.work_words import task_text, what_text

DAY = timedelta(hours=24)
SECOND = timedelta(seconds=1)


@page
@require_safe
def shift(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site)
    found = work_due(site, at.now)
    context = {"groups": groups(found, at), "says": _says(found, at)}
    return show(request, at, "shift", context, current="shift")


def groups(found: Iterable[Due], at: Here) -> list[SlipGroup]:
    """Animals in danger first, then what is over, then by place, what is far off at the end.

    The place with the least time left comes first, since work comes most urgent first. A move
    past its limit stands above papers that are late for longer.
    """
    by_heading: dict[str, list[Slip]] = {}
    for one in sorted(found, key=lambda one: _is_late_paper(one, at.now)):
        by_heading.setdefault(_heading(one, at.now), []).append(_slip(one, at))
    far = by_heading.pop(LATER, None)
    ordered = [SlipGroup(heading, tuple(slips)) for heading, slips in by_heading.items()]
    ordered.sort(key=lambda group: RANK.get(group.heading, len(RANK)))
    return [*ordered, SlipGroup(LATER, tuple(far))] if far else ordered


FIRST, OVER, LATER = "Before anything else", "Over the limit", "Later than a day from now"
RANK = {FIRST: 0, OVER: 1}


def _heading(one: Due, now: datetime) -> str:
    work = one.work
    if work.first:
        return FIRST
    if work.limit is not None and work.limit < now:
        return OVER
    due = work.planned or work.limit
    if due is not None and due - now > DAY:
        return LATER
    place = one.place
    if place.rack:
        return f"Rack {place.rack}, {place.room}"
    return place.room or "The whole site"


def _is_late_paper(one: Due, now: datetime) -> bool:
    return one.work.what is not What.MOVE and _heading(one, now) == OVER


def _slip(one: Due, at: Here) -> Slip:
    work, place = one.work, one.place
    where = ", ".join(
        part
        for part in (place.container or place.room, one.stay.code if one.stay else "")
        if part
    )
    return Slip(
        what=_what(one),
        where=where or one.kit or "the whole site",
        href=_href(one, at),
        left_s=None if work.limit is None else (work.limit - at.now) // SECOND,
        due=_due(work.planned, work.limit, at),
        remark=_remark(one, at),
        taken_by=one.taken_name,
        nights=_night(one, at) if work.what is What.MOVE else None,
        action=_action(one, at) if at.works else None,
        more=_hand_back(one, at),
    )


def _what(one: Due) -> str:
    """The task itself, without why and when."""
    return what_text(one.work)


def _remark(one: Due, at: Here) -> str:
    """Why, and what is short; what a coming move is to get."""
    rest = task_text(one.work, at.zone).removesuffix(".").split(". ")[1:]
    given = [one.target, one.kit and f"kit {one.kit}"]
    if one.work.what is What.PREPARE and any(given):
        rest.insert(0, f"for it: {' and '.join(part for part in given if part)}")
    if one.amount is not None:
        rest.append(on_a_slip(at.units, one.amount))
    elif one.work.what is What.DISINFECT:
        rest.append(NO_BLEACH)
    return ". ".join(f"{part[0].upper()}{part[1:]}" for part in rest)


def _due(planned: datetime | None, limit: datetime | None, at: Here) -> str:
    if planned == limit:
        planned = None
    said = (("planned", planned), ("limit", limit))
    return ", ".join(f"{name} {local_text(one, at.zone)}" for name, one in said if one)


def _night(one: Due, at: Here) -> Night | None:
    stay, limit = one.stay, one.work.limit
    if stay is None:
        return None
    now = max(at.now, stay.began)
    dark = dark_of(stay.light, stay.began, strip_ends(stay.began, limit, now), at)
    return Night(stay.began, limit, now, dark, planned=one.work.planned)


# Where each kind of work is done; the batch's page where nothing nearer is known.
def _href(one: Due, at: Here) -> str:
    work, site = one.work, at.site.uid
    if one.question is not None:
        return reverse("question", args=[one.question])
    if work.what is What.MOVE and work.batch and at.works:
        return reverse("move", args=[work.batch])
    subject = work.kit or work.container
    if work.what in TREATED and subject and at.works:
        return f"{reverse(TREATED[work.what], args=[site])}?subject={subject}"
    if work.what in READ and work.container and at.works:
        return reverse("read-water", args=[work.container])
    if work.what is What.ROUND and at.works:
        return f"{reverse('make-round', args=[site])}?room={work.room}"
    if work.batch:
        return reverse("batch", args=[work.batch])
    if work.container:
        return reverse("container", args=[work.container])
    return reverse(OTHERWISE.get(work.what, "room"), args=[site])


TREATED = {What.DISINFECT: "disinfect", What.SEE_DRY: "see-dry"}
READ = (What.WATER_TEST, What.READING)
OTHERWISE = {What.PREPARE_CLAIM: "unpacking", What.DECIDE: "questions"}


def _action(one: Due, at: Here) -> Action | None:
    """Take it, or say that it is done where no report would say so."""
    if at.person.uid in one.work.not_by:
        return None
    if one.taken_by is None:
        return Action("I do it", reverse("take", args=[one.uid]), new_key(), quiet=True)
    if one.taken_by == at.person.uid and one.by_hand:
        return Action("It is done", reverse("complete", args=[one.uid]), new_key(), quiet=True)
    return None


def _hand_back(one: Due, at: Here) -> PageLink | None:
    mine = one.taken_by == at.person.uid
    if one.taken_by is None or not (mine or at.manages):
        return None
    return PageLink("Hand it back", reverse("hand-back", args=[one.uid]))


def _says(found: list[Due], at: Here) -> str:
    over = sum(_heading(one, at.now) == OVER for one in found)
    text = f"{len(found)} to do"
    return f"{text}, {over} over the limit" if over else text


# -- Taking, finishing, handing back -----------------------------------------------------------


@page
@require_POST
def take(request: HttpRequest, uid: UUID) -> HttpResponse:
    at = here(request, task_seen(uid).site_id, access.HANDS)
    take_task(asking(request, at), task=uid)
    messages.success(request, "It is yours.")
    return redirect("shift", at.site.uid)


@page
@require_POST
def complete(request: HttpRequest, uid: UUID) -> HttpResponse:
    at = here(request, task_seen(uid).site_id, access.HANDS)
    complete_task(asking(request, at), task=uid)
    messages.success(request, "Done.")
    return redirect("shift", at.site.uid)


class HandBackForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside", "note")

    why = Words(label="Why is it handed back?", lines=True)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def hand_back(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = task_seen(uid)
    at = here(request, row.site_id, access.HANDS)
    form = HandBackForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: hand_back_task(replace(asked, reason=form.cleaned_data["why"]), task=uid),
        {"reason": "why"},
    )
    if done:
        messages.success(request, "Somebody else may take it.")
        return redirect("shift", at.site.uid)
    return show_form(
        request, at, form, "Hand it back", do="Hand it back", back=("shift", at.site.uid)
    )
