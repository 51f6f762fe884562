"""What people tell of a place: something touched both, an incident, a round of a room."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages import cautions
from api.pages.asking import Told, send
from api.pages.fields import One, Rows, Words
from api.pages.forms import recorded, show_form
from api.pages.shell import here, page
from protocols.uids import uid_or_none
from stock import access
from stock.doors.door import Asking
from stock.doors.signs import record_contact, record_incident
from stock.queries.equipment_seen import container_head
from stock.queries.touch_choices import Place, hands_of, places_of, tools_of

METHODS = ["GET", "HEAD", "POST"]
WAYS = (
    ("tool", later("A net, a cup or another tool")),
    ("hands", later("Hands or sleeves")),
    ("splash", later("Splashes were seen")),
    ("water", later("Water went over")),
    ("feeding", later("Feeding things")),
    ("other", later("Something else")),
)
KINDS = (
    ("jumped", later("An animal came out and is alive")),
    ("lid_off", later("A lid was off or shifted")),
    ("heater_failed", later("A heater failed")),
    ("air_failed", later("The air stopped")),
    ("leak", later("It leaks, or overflowed")),
    ("other", later("Something else")),
)
LIDS = (
    ("", later("Not said")),
    ("sound", later("Sound")),
    ("shifted", later("Shifted")),
    ("missing", later("Off")),
)
Group = tuple[str, list[tuple[str, str]]]


def _choices(places: Iterable[Place]) -> list[Any]:
    """Containers by room, each with who is in it."""
    rooms: dict[str, list[tuple[str, str]]] = {}
    for one in places:
        text = f"{one.label}, {one.code}" if one.code else one.label
        rooms.setdefault(one.room_label, []).append((str(one.uid), text))
    return [("", _("Choose one")), *rooms.items()]


class ContactForm(Told):
    """Something went from one container to another: that way, and not back."""

    WITHOUT = ("set_aside", "why_aside", "standing")

    begin = One(label=later("From which container?"))
    end = One(label=later("To which container?"))
    way = Rows(WAYS, label=later("How?"))
    thing = One(required=False, label=later("With which tool?"))
    doer = One(required=False, label=later("Who did it?"))

    def __init__(self, *args: Any, site: UUID, **options: Any) -> None:
        super().__init__(*args, **options)
        places = _choices(places_of(site))
        self._choose("begin", places)
        self._choose("end", places)
        tools = ((str(uid), label) for uid, label in tools_of(site))
        self._choose("thing", [("", _("None, or not known")), *tools])
        people = ((str(uid), name) for uid, name in hands_of(site))
        self._choose("doer", [("", _("I did")), *people])

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
        text = _("Recorded. A manager decides what it means.") if asks else _("Recorded.")
        recorded(request, done, _("{text} Disinfect what was carried.").format(text=text))
        return redirect("touched", site)
    return show_form(
        request,
        at,
        form,
        _("Something touched both"),
        do=_("Record the contact"),
        back=("touched", site),
        lead=_("Say it in the direction in which it went. No series is broken by telling it."),
    )


class IncidentForm(Told):
    """No loss: whoever is in question is alive, or nobody is."""

    WITHOUT = ("set_aside", "why_aside")

    kind = Rows(KINDS, label=later("What happened?"))
    found = Words(required=False, most=200, label=later("Where was it found?"))
    state = Words(required=False, most=400, lines=True, label=later("How is it now?"))
    lid = One(LIDS, required=False, label=later("The lid"))
    container_unsure = forms.BooleanField(
        required=False, label=later("It may have come from another container nearby")
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
        recorded(request, done, _("Recorded. What is to be done about it stands on the cord."))
        return redirect("container", uid)
    return show_form(
        request,
        at,
        form,
        _("An incident in {row}").format(row=row.label),
        do=_("Record the incident"),
        back=("container", uid),
        cautions=cautions.handling(),
        lead=_("Animals first. What is dead is told as a loss, on the page of its batch."),
    )
