"""What people tell of a place: something touched both, an incident, a round of a room."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import One, Rows, Several, Words
from api.pages.forms import recorded, show_form
from api.pages.parts import PageLink
from api.pages.shell import here, page
from protocols.uids import uid_or_none
from stock import access
from stock.doors.care import make_round
from stock.doors.door import Asking
from stock.doors.signs import record_contact, record_incident
from stock.queries.equipment_seen import container_head
from stock.queries.touch_choices import Place, hands_of, places_of, tools_of

METHODS = ["GET", "HEAD", "POST"]
WAYS = (
    ("tool", "A net, a cup or another tool"),
    ("hands", "Hands or sleeves"),
    ("splash", "Splashes were seen"),
    ("water", "Water went over"),
    ("feeding", "Feeding things"),
    ("other", "Something else"),
)
KINDS = (
    ("jumped", "An animal came out and is alive"),
    ("lid_off", "A lid was off or shifted"),
    ("heater_failed", "A heater failed"),
    ("air_failed", "The air stopped"),
    ("leak", "It leaks, or overflowed"),
    ("other", "Something else"),
)
LIDS = (("", "Not said"), ("sound", "Sound"), ("shifted", "Shifted"), ("missing", "Off"))
Group = tuple[str, list[tuple[str, str]]]


def _choices(places: Iterable[Place]) -> list[Any]:
    """Containers by room, each with who is in it."""
    rooms: dict[str, list[tuple[str, str]]] = {}
    for one in places:
        text = f"{one.label}, {one.code}" if one.code else one.label
        rooms.setdefault(one.room_label, []).append((str(one.uid), text))
    return [("", "Choose one"), *rooms.items()]


class ContactForm(Told):
    """Something went from one container to another: that way, and not back."""

    WITHOUT = ("set_aside", "why_aside", "standing")

    begin = One(label="From which container?")
    end = One(label="To which container?")
    way = Rows(WAYS, label="How?")
    thing = One(required=False, label="With which tool?")
    doer = One(required=False, label="Who did it?")

    def __init__(self, *args: Any, site: UUID, **options: Any) -> None:
        super().__init__(*args, **options)
        places = _choices(places_of(site))
        self._choose("begin", places)
        self._choose("end", places)
        tools = ((str(uid), label) for uid, label in tools_of(site))
        self._choose("thing", [("", "None, or not known"), *tools])
        people = ((str(uid), name) for uid, name in hands_of(site))
        self._choose("doer", [("", "I did"), *people])

    def by(self, asked: Asking) -> Asking:
        """Who did it and who tells it are two."""
        return replace(asked, doer=uid_or_none(self.cleaned_data["doer"]))


@page
@require_http_methods(METHODS)
def contact(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site, access.HANDS)
    first = {"begin": request.GET.get("from", ""), "end": request.GET.get("to", "")}
    form = ContactForm(request.POST or None, at=at, site=site, initial=first)

    def tell(asked: Asking) -> Any:
        given = form.cleaned_data
        return record_contact(
            form.by(asked),
            begin=UUID(given["begin"]),
            end=UUID(given["end"]),
            way=given["way"],
            thing=uid_or_none(given["thing"]),
        )

    done = send(request, form, tell, {"from": "begin", "to": "end"})
    if done:
        asks = len(done.body["deviations"])
        text = "Recorded. A manager decides what it means." if asks else "Recorded."
        recorded(request, done, f"{text} Disinfect what was carried.")
        return redirect("touched", site)
    return show_form(
        request,
        at,
        form,
        "Something touched both",
        do="Record the contact",
        back=("touched", site),
        lead="Say it in the direction in which it went. No series is broken by telling it.",
    )


class IncidentForm(Told):
    """No loss: whoever is in question is alive, or nobody is."""

    WITHOUT = ("set_aside", "why_aside")

    kind = Rows(KINDS, label="What happened?")
    found = Words(required=False, most=200, label="Where was it found?")
    state = Words(required=False, most=400, lines=True, label="How is it now?")
    lid = One(LIDS, required=False, label="The lid")
    container_unsure = forms.BooleanField(
        required=False, label="It may have come from another container nearby"
    )

    def what(self) -> dict[str, Any]:
        given = self.cleaned_data
        return {name: given[name] for name in ("found", "state", "lid") if given[name]}


@page
@require_http_methods(METHODS)
def incident(request: HttpRequest, uid: UUID) -> HttpResponse:
    row = container_head(uid)
    at = here(request, row.site_id, access.HANDS)
    form = IncidentForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: record_incident(
            asked,
            batch=None,
            container=uid,
            kind=form.cleaned_data["kind"],
            what=form.what(),
            container_unsure=form.cleaned_data["container_unsure"],
        ),
    )
    if done:
        recorded(request, done, "Recorded. What is to be done about it stands on the cord.")
        return redirect("container", uid)
    return show_form(
        request,
        at,
        form,
        f"An incident in {row.label}",
        do="Record the incident",
        back=("container", uid),
        cautions=cautions.handling(),
        lead="Animals first. What is dead is told as a loss, on the page of its batch.",
    )


class RoundForm(Told):
    WITHOUT = ("set_aside", "why_aside", "standing")

    looked_at = Several(label="Which containers were looked at?")
    wrong = One(required=False, label="Something was not as it should be in")
    what = Words(required=False, most=400, label="What was it?")

    def __init__(self, *args: Any, places: Iterable[Place], **options: Any) -> None:
        super().__init__(*args, **options)
        rows = [
            (str(one.uid), f"{one.label}, {one.code}" if one.code else one.label)
            for one in places
        ]
        self._choose("looked_at", rows)
        self._choose("wrong", [("", "None of them"), *rows])

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("wrong") and not given.get("what"):
            self.add_error("what", "Say what it was.")
        return given

    def exceptions(self) -> list[dict[str, Any]]:
        given = self.cleaned_data
        if not given["wrong"]:
            return []
        return [{"container": UUID(given["wrong"]), "what": given["what"]}]


@page
@require_http_methods(METHODS)
def round_of(request: HttpRequest, site: UUID) -> HttpResponse:
    """A round of one room; where there are several, the one that the address names."""
    at = here(request, site, access.HANDS)
    places = places_of(site)
    rooms = {one.room: one.room_label for one in places}
    named = uid_or_none(request.GET.get("room"))
    room = named if named in rooms else next(iter(rooms), None)
    if room is None:
        messages.warning(request, "There is no container yet.")
        return redirect("room", site)
    form = RoundForm(
        request.POST or None, at=at, places=[one for one in places if one.room == room]
    )
    done = send(
        request,
        form,
        lambda asked: make_round(
            asked,
            room=room,
            looked_at=[UUID(one) for one in form.cleaned_data["looked_at"]],
            exceptions=form.exceptions(),
        ),
        {"exceptions": "wrong"},
    )
    if done:
        recorded(request, done, f"A round of {rooms[room]} is recorded.")
        return redirect("shift", site)
    others = [
        PageLink(f"A round of {label}", f"{reverse('make-round', args=[site])}?room={uid}")
        for uid, label in rooms.items()
        if uid != room
    ]
    return show_form(
        request,
        at,
        form,
        f"A round of {rooms[room]}",
        do="Record the round",
        back=("room", site),
        cautions=cautions.handling(),
        others=others,
    )
