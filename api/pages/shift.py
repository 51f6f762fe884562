"""The shift: what is due, by time left, where it is to be done."""

from dataclasses import replace
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.pages.asking import Told, asking, send
from api.pages.closing import closed_now
from api.pages.fields import Words
from api.pages.forms import show_form
from api.pages.held import held
from api.pages.parts import PageLink
from api.pages.shell import Here, here, page, show
from api.pages.slips import groups
from protocols.clocks import local_text
from protocols.walks import Band, band_of
from stock import access
from stock.doors.work import complete_task, hand_back_task, take_task
from stock.queries.handovers import newest_line
from stock.queries.shift import Due, ShiftSeen, shift_seen
from stock.queries.tasks_seen import task_seen
from stock.refusals import NotFound

OVER = (Band.OVER, Band.OVER_PAPER)
WAYS = (
    ("make-round", gettext_lazy("Make a round")),
    ("feed", gettext_lazy("Feed them")),
    ("hand-over", gettext_lazy("Hand the shift over")),
)


@page
@require_safe
def shift(request: HttpRequest, site: UUID, room: UUID | None = None) -> HttpResponse:
    """Everything that is due at the site, or what one room holds of it."""
    at = here(request, site)
    seen = shift_seen(site, at.now)
    if room is not None and room not in seen.rooms:
        raise NotFound
    found = [one for one in seen.due if room is None or one.place.room_uid == room]
    context = {
        "groups": groups(found, at),
        "says": _says(found, at),
        "closed": closed_now(at),
        "rooms": _rooms(seen, at, room),
        "elsewhere": _elsewhere(seen, found, at) if room else "",
        "held": held(at),
        "ways": _ways(at, room),
        "handover": _handover(at),
    }
    return show(request, at, "shift", context, current="shift")


def _handover(at: Here) -> PageLink | None:
    """The newest handover, until somebody else has read it; then it lies under its own way."""
    line = newest_line(at.site.uid, at.now)
    if line is None or line.by == at.person.uid or at.person.uid in line.readers:
        return None
    text = _("Handed over %(at)s: %(open)d open, %(late)d late. Read it and say so.") % {
        "at": local_text(line.at, at.zone),
        "open": line.open,
        "late": line.late,
    }
    return PageLink(text, reverse("handover", args=[at.site.uid, line.uid]))


def _ways(at: Here, room: UUID | None) -> list[PageLink]:
    """The walks that are made whether a slip asks for them or not."""
    if not at.works:
        return []
    query = f"?room={room}" if room else ""
    return [
        PageLink(str(text), f"{reverse(name, args=[at.site.uid])}{query}")
        for name, text in WAYS
    ]


@page
@require_safe
def one_slip(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One slip in full; what is no longer open stands on no slip."""
    at = here(request, task_seen(uid).site_id)
    seen = shift_seen(at.site.uid, at.now)
    found = [one for one in seen.due if one.uid == uid]
    if not found:
        messages.warning(request, _("This is no longer to be done."))
        return redirect("shift", at.site.uid)
    context = {"groups": groups(found, at), "says": "", "rooms": [], "elsewhere": ""}
    return show(request, at, "shift", context, current="shift")


def _rooms(seen: ShiftSeen, at: Here, chosen: UUID | None) -> list[PageLink]:
    """One link for each room; none where there is only one."""
    if len(seen.rooms) < 2:
        return []
    site = at.site.uid
    rooms = sorted(seen.rooms.items(), key=lambda pair: pair[1])
    return [
        PageLink(_("Every room"), reverse("shift", args=[site]), chosen is None),
        *(
            PageLink(label, reverse("shift-room", args=[site, uid]), uid == chosen)
            for uid, label in rooms
        ),
    ]


def _elsewhere(seen: ShiftSeen, found: list[Due], at: Here) -> str:
    """What a look at one room leaves out: danger elsewhere is never out of sight."""
    shown = {one.uid for one in found}
    rest = [one for one in seen.due if one.uid not in shown]
    danger = sum(band_of(one.work, at.now) is Band.DANGER for one in rest)
    over = _over(rest, at)
    if danger or over:
        return _("Elsewhere: %(danger)d with animals in danger, %(over)d over the limit.") % {
            "danger": danger,
            "over": over,
        }
    return ""


def _over(found: list[Due], at: Here) -> int:
    return sum(band_of(one.work, at.now) in OVER for one in found)


def _says(found: list[Due], at: Here) -> str:
    text = ngettext("%(n)d to do", "%(n)d to do", len(found)) % {"n": len(found)}
    if over := _over(found, at):
        return _("%(to_do)s, %(over)d over the limit") % {"to_do": text, "over": over}
    return text


# -- Taking, finishing, handing back -----------------------------------------------------------


@page
@require_POST
def take(request: HttpRequest, uid: UUID) -> HttpResponse:
    at = here(request, task_seen(uid).site_id, access.HANDS)
    take_task(asking(request, at), task=uid)
    messages.success(request, _("It is yours."))
    return redirect("shift", at.site.uid)


@page
@require_POST
def complete(request: HttpRequest, uid: UUID) -> HttpResponse:
    at = here(request, task_seen(uid).site_id, access.HANDS)
    complete_task(asking(request, at), task=uid)
    messages.success(request, _("Done."))
    return redirect("shift", at.site.uid)


class HandBackForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside", "note")

    why = Words(label=gettext_lazy("Why is it handed back?"), lines=True)


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
        messages.success(request, _("Somebody else may take it."))
        return redirect("shift", at.site.uid)
    return show_form(
        request,
        at,
        form,
        _("Hand it back"),
        do=_("Hand it back"),
        back=("shift", at.site.uid),
    )
