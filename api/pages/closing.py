"""Closing a room for people, and opening it again."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from api.pages.asking import Told, send
from api.pages.fields import WallTime, Words
from api.pages.forms import recorded, show_form
from api.pages.links import when
from api.pages.parts import PageLink
from api.pages.shell import Here, here, page, show
from stock import access
from stock.doors.rooms import close_room, open_room
from stock.queries.rooms import closed_rooms, room_seen, rooms_of

METHODS = ["GET", "HEAD", "POST"]
WITHOUT = ("reason", "standing", "set_aside", "why_aside", "when")


class CloseForm(Told):
    WITHOUT = WITHOUT

    why = Words(
        label=gettext_lazy("Why must nobody go in?"),
        help_text=gettext_lazy("Such as chlorine in the air, or water near the sockets."),
    )
    until = WallTime(
        required=False,
        label=gettext_lazy("Until when?"),
        help_text=gettext_lazy("Leave it empty for: until somebody opens it."),
    )


class OpenForm(Told):
    WITHOUT = WITHOUT


def closed_now(at: Here) -> list[dict[str, Any]]:
    """The rooms that nobody enters now, for `parts/closed_rooms.html`. One query."""
    return [
        {
            "label": one.label,
            "why": one.why,
            "begins": when(one.begins, at.zone),
            "ends": when(one.ends, at.zone),
            "open": reverse("open-room", args=[one.room]) if at.works else "",
        }
        for one in closed_rooms(at.site.uid, at.now).values()
    ]


@page
@require_safe
def close_rooms(request: HttpRequest, site: UUID) -> HttpResponse:
    """Which room is nobody to enter?"""
    at = here(request, site, access.HANDS)
    rooms = [
        PageLink(one.label, reverse("close-room", args=[one.uid])) for one in rooms_of(site)
    ]
    context = {"closed": closed_now(at), "rooms": rooms}
    return show(request, at, "close_rooms", context, current="room")


@page
@require_http_methods(METHODS)
def close(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Nobody is to go in; no reminder sends anybody there."""
    room = room_seen(uid)
    at = here(request, room.site_id, access.HANDS)
    form = CloseForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: close_room(
            asked,
            room=uid,
            begins=None,
            ends=form.moments.get("until"),
            why=form.cleaned_data["why"],
        ),
        {"to": "until"},
    )
    if done:
        recorded(request, done, _("The room is closed for people."))
        return redirect("shift", room.site_id)
    return show_form(
        request,
        at,
        form,
        _("Close %(room)s for people") % {"room": room.label},
        do=_("Close it"),
        back=("room", room.site_id),
        lead=_(
            "People first. Nobody is called into this room until it is open again; everybody "
            "who works here is told now. Limits run on: think of animals once it is safe."
        ),
    )


@page
@require_http_methods(METHODS)
def open_again(request: HttpRequest, uid: UUID) -> HttpResponse:
    """People may go in again."""
    room = room_seen(uid)
    at = here(request, room.site_id, access.HANDS)
    form = OpenForm(request.POST or None, at=at)
    done = send(request, form, lambda asked: open_room(asked, room=uid))
    if done:
        recorded(request, done, _("The room is open again."))
        return redirect("shift", room.site_id)
    closed = closed_rooms(room.site_id, at.now).get(uid)
    return show_form(
        request,
        at,
        form,
        _("Open %(room)s again") % {"room": room.label},
        do=_("It is safe: open it"),
        back=("room", room.site_id),
        lead=_("Closed because of: %(why)s") % {"why": closed.why} if closed else "",
    )
