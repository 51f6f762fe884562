"""Feeding: one walk with food through a room."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import Figure, One, Several, Words
from api.pages.forms import recorded, show_form
from api.pages.rounds import other_rooms, room_of
from api.pages.shell import here, page
from stock import access
from stock.doors.care import feed
from stock.queries.rounds import Stop, foods_of, stops_of

EATEN = (
    ("", gettext_lazy("Not looked at yet: say it on the round")),
    ("all", gettext_lazy("All of it")),
    ("most", gettext_lazy("Most of it")),
    ("some", gettext_lazy("Some of it")),
    ("none", gettext_lazy("None of it")),
)


class FeedingForm(Told):
    """One food for all that are ticked; who gets something else is told by another walk."""

    WITHOUT = ("set_aside", "why_aside", "standing")

    food = One(required=False, label=gettext_lazy("Which food?"))
    other = Words(required=False, most=120, label=gettext_lazy("Another food"))
    amount_g = Figure(
        required=False, unit="g", label=gettext_lazy("How much for each container?")
    )
    eaten = One(EATEN, required=False, label=gettext_lazy("How much of it was eaten?"))
    containers = Several(label=gettext_lazy("Which containers?"))

    def __init__(
        self, *args: Any, stops: Iterable[Stop], foods: Iterable[str], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self._choose("food", [*((one, one) for one in foods), ("", _("Another food"))])
        rows = [(str(one.uid), f"{one.label}, {one.code}") for one in stops if one.batch]
        self._choose("containers", rows)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not given.get("food") and not given.get("other"):
            self.add_error("other", _("Say what was fed."))
        return given

    def feedings(self) -> list[dict[str, Any]]:
        given = self.cleaned_data
        said = {
            "food": given["other"] or given["food"],
            "amount_g": given["amount_g"],
            "eaten": given["eaten"],
        }
        known = {name: value for name, value in said.items() if value}
        return [{"container": UUID(one), **known} for one in given["containers"]]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def give_food(request: HttpRequest, site: UUID) -> HttpResponse:
    """Food for one room; where there are several, for the one that the address names."""
    at = here(request, site, access.HANDS)
    stops = stops_of(site)
    rooms = {one.room: one.room_label for one in stops}
    room = room_of(request, rooms)
    if room is None:
        messages.warning(request, _("There is no container yet."))
        return redirect("room", site)
    form = FeedingForm(
        request.POST or None,
        at=at,
        stops=[one for one in stops if one.room == room],
        foods=foods_of(site),
    )
    done = send(request, form, lambda asked: feed(asked, site=site, feedings=form.feedings()))
    if done:
        number = len(form.cleaned_data["containers"])
        recorded(request, done, _("%(n)d containers are fed.") % {"n": number})
        return redirect("shift", site)
    return show_form(
        request,
        at,
        form,
        _("Feed %(room)s") % {"room": rooms[room]},
        do=_("Record the feeding"),
        back=("shift", site),
        cautions=cautions.handling(),
        lead=_(
            "From clean to dirty, the sick last. Nothing that touched one water goes into "
            "another: food is dropped, or each container has a tool of its own."
        ),
        others=other_rooms(rooms, room, "feed", site),
    )
