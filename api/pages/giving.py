"""Giving something into the water: under which protocol, how much, and its clock."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later, local_text
from api.pages.asking import Told, send
from api.pages.fields import Figure, Words
from api.pages.forms import show_form
from api.pages.links import when
from api.pages.parts import PageLink, Table
from api.pages.protocol_words import amounts
from api.pages.shell import Here, here, page, show
from protocols.clocks import elapsed_text
from protocols.library.in_range import InRange
from protocols.library.values import Treatment
from protocols.versions import UnknownProtocol
from stock import access
from stock.doors.doses import give_dose
from stock.queries.batch_seen import batch_head
from stock.queries.doses import Course, courses_of
from stock.queries.equipment_seen import container_head
from stock.queries.protocols import version_of, versions_of
from stock.refusals import NotFound

ALONE = "none"
BY_ITSELF = later("Medicines only as a veterinarian and local rules allow.")


class DoseForm(Told):
    """What is given, how much, and on whose word."""

    product = Words(label=later("What is given, as its label says"), most=120)
    amount = Figure(label=later("How much"), min_value=0)
    unit = Words(label=later("In which unit?"), most=12)
    lot = Words(required=False, label=later("Lot"), most=60)
    expires = forms.DateField(
        required=False, label=later("Expires"), widget=forms.DateInput(attrs={"type": "date"})
    )
    prescription = Words(
        required=False,
        label=later("Prescription"),
        most=120,
        help_text=later("Its number, or who wrote it."),
    )
    why = Words(required=False, label=later("What for"), most=400)

    def body(self, protocol: str) -> dict[str, Any]:
        names = ("product", "amount", "unit", "lot", "prescription", "why")
        said = {name: self.cleaned_data[name] for name in names if self.cleaned_data[name]}
        if self.cleaned_data["expires"]:
            said["expires"] = self.cleaned_data["expires"].isoformat()
        return said if protocol == ALONE else {**said, "protocol": protocol}


@page
@require_safe
def choose(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Under which protocol something is to be given into this container."""
    container = container_head(uid)
    at = here(request, container.site_id, access.HANDS)
    ways = [
        PageLink(f"{one.found.title} ({one.found.key})", _give(uid, one.found.key))
        for one in versions_of(at.person.organisation)
        if isinstance(one.found, Treatment)
    ]
    ways.append(PageLink(_("Something else, under no protocol"), _give(uid, ALONE)))
    return show(request, at, "give", {"container": container, "ways": ways}, current="room")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def give(request: HttpRequest, uid: UUID, key: str) -> HttpResponse:
    """One dose; the cautions, the amounts and when to stop stand above the form."""
    container = container_head(uid)
    at = here(request, container.site_id, access.HANDS)
    by = _treatment(at, key)
    units = {one.unit for one in by.doses} if by else set()
    initial = {"unit": units.pop()} if len(units) == 1 else {}
    form = DoseForm(request.POST or None, at=at, initial=initial)
    answer = send(
        request, form, lambda asked: give_dose(asked, container=uid, body=form.body(key))
    )
    if answer:
        messages.success(
            request, _("Given into {container}.").format(container=container.label)
        )
        return redirect("container", uid)
    return show_form(
        request,
        at,
        form,
        _("Give {what} into {container}").format(
            what=by.title.lower() if by else _("something"), container=container.label
        ),
        do=_("It is given"),
        back=("give", uid),
        current="room",
        cautions=by.cautions if by else (BY_ITSELF,),
        lead=_lead(by) if by else "",
    )


def _lead(by: Treatment) -> str:
    doses = "; ".join(amounts(one) for one in by.doses)
    stops = ", ".join(by.stop_signs)
    never = _(" Never for {listed}.").format(listed=", ".join(by.refused)) if by.refused else ""
    return _("{doses}. Stop at once when: {stops}.{never}").format(
        doses=doses, stops=stops, never=never
    )


@page
@require_safe
def treatments(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What was given to a batch under a protocol, each with its clock."""
    batch = batch_head(uid)
    at = here(request, batch.site_id)
    found = courses_of(batch, at.person.organisation, at.now)
    courses = [
        {
            "title": one.by.title,
            "key": one.by.key,
            "said": _said(one, at),
            "pairs": _pairs(one, at),
            "doses": _doses(one, at),
            "stop_signs": one.by.stop_signs,
        }
        for one in found
    ]
    return show(request, at, "treatments", {"batch": batch, "courses": courses}, current="room")


def _said(one: Course, at: Here) -> str:
    clock = one.clock
    if clock is None:
        return _("Lasts until {lasts_until} at least.").format(
            lasts_until=local_text(one.lasts_until, at.zone)
        )
    if clock.done_at is not None:
        return _("In range for long enough since {done_at}.").format(
            done_at=local_text(clock.done_at, at.zone)
        )
    return _("{counted} h in range, {left} h are left.").format(
        counted=elapsed_text(clock.counted), left=elapsed_text(clock.left)
    )


def _pairs(one: Course, at: Here) -> list[tuple[str, Any]]:
    pairs: list[tuple[str, Any]] = [(_("Begun"), when(one.began, at.zone))]
    if one.next_from is not None:
        pairs.append((_("Next dose, not before"), when(one.next_from, at.zone)))
    return pairs + (_clock_pairs(one, one.clock, at) if one.clock else [])


def _clock_pairs(one: Course, clock: InRange, at: Here) -> list[tuple[str, Any]]:
    rule = one.by.clock
    if rule is None:
        return []
    unit = "" if rule.unit == "1" else f" {rule.unit}"
    newest = _("nobody measured it") if clock.newest is None else f"{clock.newest.value}{unit}"
    pairs = [
        (rule.quantity.capitalize(), newest),
        (
            _("Counts between"),
            _("{least} and {most}{unit}").format(
                least=rule.allowed.least, most=rule.allowed.most, unit=unit
            ),
        ),
        (_("Counts from"), when(clock.counts_from, at.zone) or _("the first reading in range")),
        (_("Outside"), f"{elapsed_text(clock.outside)} h"),
        (_("Nobody knows"), f"{elapsed_text(clock.unknown)} h"),
        (_("Begun anew after a drop"), str(clock.restarts) if clock.restarts else _("never")),
    ]
    if clock.needs_reading_by is not None:
        pairs.append((_("Measure again by"), when(clock.needs_reading_by, at.zone)))
    return pairs


def _doses(one: Course, at: Here) -> Table:
    return Table(
        _("Given"),
        (_("When"), _("What"), _("How much")),
        [
            (
                when(each.when.earliest, at.zone),
                each.body["product"],
                f"{each.body['amount']} {each.body['unit']}",
            )
            for each in one.doses
        ],
    )


def _treatment(at: Here, key: str) -> Treatment | None:
    if key == ALONE:
        return None
    try:
        found = version_of(at.person.organisation, key).found
    except UnknownProtocol as error:
        raise NotFound from error
    if not isinstance(found, Treatment):
        raise NotFound
    return found


def _give(container: UUID, key: str) -> str:
    return reverse("give-one", args=[container, key])
