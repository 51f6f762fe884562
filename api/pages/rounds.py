"""A round: every container of a room in one walk, one touch for each that is well."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import Rows, Several, Words
from api.pages.forms import recorded
from api.pages.parts import PageLink
from api.pages.shell import here, page, show
from protocols.uids import uid_or_none
from stock import access
from stock.doors.care import make_round
from stock.queries.rounds import RoundTold, Stop, round_told, stops_of

# One touch says that everybody was seen, and whether they ate.
SEEN = (
    ("ate", gettext_lazy("All seen, ate")),
    ("not_eating", gettext_lazy("All seen, did not eat")),
    ("seen", gettext_lazy("All seen, not fed")),
    ("wrong", gettext_lazy("Something is not as it should be")),
)
# The common ones, each with the form that tells more of it.
WRONG = (
    ("not all seen", gettext_lazy("Not all were seen"), "count-batch"),
    ("looks ill", gettext_lazy("Somebody looks ill"), "sign"),
    ("dead", gettext_lazy("Somebody is dead: take it out at once"), "loss"),
    ("lid", gettext_lazy("The lid"), "incident"),
    ("heater or air", gettext_lazy("Heater, air or water level"), "incident"),
)
FORMS = {text: name for text, _said, name in WRONG}
OF_BATCHES = ("count-batch", "sign", "loss")
NOT_ALL = "not all seen"


@dataclass(frozen=True, slots=True)
class StopShown:
    """One container on the page: its fields, and the rack where it is the first of one."""

    stop: Stop
    rack: str
    look: forms.BoundField
    wrong: forms.BoundField
    what: forms.BoundField


class RoundForm(Told):
    """Per container one touch; the fields of what is wrong count only where that is chosen."""

    WITHOUT = ("set_aside", "why_aside", "standing")

    empty = forms.BooleanField(
        required=False, label=gettext_lazy("The empty containers were looked at as well")
    )

    def __init__(self, *args: Any, stops: Iterable[Stop], **options: Any) -> None:
        super().__init__(*args, **options)
        every = tuple(stops)
        self.stops = tuple(one for one in every if one.batch)
        self.empties = tuple(one for one in every if not one.batch)
        if not self.empties:
            del self.fields["empty"]
        wrong = [(text, said) for text, said, _name in WRONG]
        for one in self.stops:
            self.fields[f"look_{one.uid}"] = Rows(SEEN, required=False, label=one.label)
            self.fields[f"wrong_{one.uid}"] = Several(
                wrong, required=False, label=_("What is it?")
            )
            self.fields[f"what_{one.uid}"] = Words(
                required=False, most=300, label=_("More of it")
            )

    def rows(self) -> Iterator[StopShown]:
        rack = ""
        for one in self.stops:
            yield StopShown(
                one,
                one.rack if one.rack != rack else "",
                *(self[f"{name}_{one.uid}"] for name in ("look", "wrong", "what")),
            )
            rack = one.rack

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        for one in self.stops:
            if self._look(one) == "wrong" and not self._said(one):
                self.add_error(f"wrong_{one.uid}", _("Say what it is."))
        if not self.errors and not self.looked_at():
            self.add_error(None, _("Nothing was touched: say for each container what you saw."))
        return given

    def looked_at(self) -> list[UUID]:
        seen = [one.uid for one in self.stops if self._look(one)]
        empty = self.empties if self.cleaned_data.get("empty") else ()
        return [*seen, *(one.uid for one in empty)]

    def who(self, look: str) -> list[UUID]:
        return [one.uid for one in self.stops if self._look(one) == look]

    def not_all_seen(self) -> list[UUID]:
        return [uid for uid in self.who("wrong") if NOT_ALL in self._ticked(uid)]

    def exceptions(self) -> list[dict[str, Any]]:
        return [
            {"container": one.uid, "what": "; ".join(self._said(one))}
            for one in self.stops
            if self._look(one) == "wrong"
        ]

    def _look(self, one: Stop) -> str:
        return str(self.cleaned_data.get(f"look_{one.uid}") or "")

    def _ticked(self, uid: UUID) -> list[str]:
        return list(self.cleaned_data.get(f"wrong_{uid}") or ())

    def _said(self, one: Stop) -> list[str]:
        more = self.cleaned_data.get(f"what_{one.uid}")
        return [*self._ticked(one.uid), *([more] if more else [])]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def make(request: HttpRequest, site: UUID) -> HttpResponse:
    """A round of one room; where there are several, the one that the address names."""
    at = here(request, site, access.HANDS)
    stops = stops_of(site)
    rooms = {one.room: one.room_label for one in stops}
    room = room_of(request, rooms)
    if room is None:
        messages.warning(request, _("There is no container yet."))
        return redirect("room", site)
    here_now = [one for one in stops if one.room == room]
    form = RoundForm(request.POST or None, at=at, stops=here_now)
    done = send(
        request,
        form,
        lambda asked: make_round(
            asked,
            room=room,
            looked_at=form.looked_at(),
            exceptions=form.exceptions(),
            ate=form.who("ate"),
            not_eating=form.who("not_eating"),
            not_all_seen=form.not_all_seen(),
        ),
    )
    if done:
        text = _("A round of %(room)s is recorded.") % {"room": rooms[room]}
        recorded(request, done, text)
        if form.exceptions():
            return redirect("round", site, done.body["round"]["uid"])
        return redirect("shift", site)
    context = {
        "form": form,
        "heading": _("A round of %(room)s") % {"room": rooms[room]},
        "cautions": cautions.handling(),
        "cautions_more": cautions.handling()[1:],
        "back": reverse("room", args=[site]),
        "others": other_rooms(rooms, room, "make-round", site),
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "round", context, status=status)


def room_of(request: HttpRequest, rooms: dict[UUID, str]) -> UUID | None:
    """The room that the address names, else the first; None where no room has a container."""
    named = uid_or_none(request.GET.get("room"))
    return named if named in rooms else next(iter(rooms), None)


def other_rooms(rooms: dict[UUID, str], room: UUID, name: str, site: UUID) -> list[PageLink]:
    return [
        PageLink(label, f"{reverse(name, args=[site])}?room={uid}")
        for uid, label in rooms.items()
        if uid != room
    ]


@page
@require_safe
def exceptions(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """After a round: every exception with the form that tells the rest of it."""
    at = here(request, site, access.HANDS)
    told = round_told(site, uid)
    stops = {one.uid: one for one in stops_of(site)}
    context = {"rows": list(_rows(told, stops)), "told": told}
    return show(request, at, "round_exceptions", context)


def _rows(
    told: RoundTold, stops: dict[UUID, Stop]
) -> Iterator[tuple[str, str, list[PageLink]]]:
    for container, what in told.exceptions:
        stop = stops.get(container)
        if stop is None:
            continue
        where = f"{stop.label}, {stop.code}" if stop.code else stop.label
        yield where, what, list(_forms(stop, what.split("; ")))


def _forms(stop: Stop, said: list[str]) -> Iterator[PageLink]:
    """The forms that tell more; where nothing common was ticked, those that may be meant."""
    names = {FORMS[one] for one in said if one in FORMS} or set(FORMS.values())
    texts = {
        "count-batch": _("Count them"),
        "sign": _("A sign was seen"),
        "loss": _("Record a loss"),
        "incident": _("An incident"),
    }
    for name, text in texts.items():
        if name in names and (stop.batch or name not in OF_BATCHES):
            subject = stop.batch if name in OF_BATCHES else stop.uid
            yield PageLink(text, reverse(name, args=[subject]))
