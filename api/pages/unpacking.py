"""Unpacking: what was announced, what came, what was counted out, what is left to be placed."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later, written
from api.pages.asking import Told, send
from api.pages.fields import Count, Figure, One
from api.pages.forms import show_form
from api.pages.links import link
from api.pages.parts import Action, Step, Table
from api.pages.shell import Here, here, new_key, page, show
from protocols.intake import BoxCounted
from protocols.uids import uid_or_none
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.intake import count_line, deliver_consignment
from stock.queries.intake import consignment_page
from stock.queries.unpacking import (
    LineSeen,
    consignment_seen,
    line_seen,
    site_of_consignment,
)

LINE_COLUMNS = (
    later("Line"),
    later("Box"),
    later("Listed"),
    later("Received"),
    later("DOA"),
    later("Short"),
    later("Over"),
    later("To place"),
    "",
)
FIGURES = frozenset(range(2, 8))


@page
@require_safe
def unpacking(request: HttpRequest, site: UUID) -> HttpResponse:
    """Consignments, newest first, with what is next for each."""
    at = here(request, site)
    after = request.GET.get("after")
    found = consignment_page(site, after=uid_or_none(after))
    older = found["after"]
    context = {
        "rows": [_row(one) for one in found["consignments"]],
        "read_list": reverse("send-list", args=[site]) if at.manages else "",
        "small": reverse("small-delivery", args=[site]) if at.works else "",
        "older": f"{request.path}?after={older}" if older else "",
        "newer": request.path if after else "",
    }
    return show(request, at, "unpacking", context, current="unpacking")


ANNOUNCED, TO_COUNT = later("announced"), later("to be counted")
TO_PLACE, PLACED = later("to be placed"), later("placed")


def stage(one: Mapping[str, Any]) -> str:
    """Where a consignment is on its way from paper to containers."""
    if one["delivered_at"] is None:
        return ANNOUNCED
    if one["lines_counted"] < one["lines_listed"]:
        return TO_COUNT
    return TO_PLACE if one["left"] else PLACED


def name_of(one: Mapping[str, Any]) -> str:
    return (
        f"{one['supplier_name']}, {one['waybill']}" if one["waybill"] else one["supplier_name"]
    )


def _row(one: Mapping[str, Any]) -> dict[str, Any]:
    came = one["delivered_at_local"] or one["listed_at_local"]
    return {**one, "name": name_of(one), "stage": stage(one), "when": written(came or "")}


@page
@require_safe
def consignment(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One consignment: its windows for claims, and its lines with every number apart."""
    at = here(request, site_of_consignment(uid))
    found = consignment_seen(uid, at.now)
    now = stage(found)
    context = {
        "consignment": found,
        "name": name_of(found),
        "stage": now,
        "claims_run": now != PLACED,
        "steps": _steps(now) if now != PLACED else [],
        "deliver": _deliver_action(uid) if at.works and now == ANNOUNCED else None,
        "place": reverse("place", args=[uid]) if at.works and found["left"] else "",
        "table": _lines_table(found, at),
    }
    return show(request, at, "consignment", context, current="unpacking")


STAGES = (ANNOUNCED, TO_COUNT, TO_PLACE, PLACED)


def _steps(now: str) -> list[Step]:
    """Four steps; the last is done as soon as it is reached."""
    place = STAGES.index(now)
    names = (_("Listed"), _("Delivered"), _("Counted"), _("Placed"))
    return [
        Step(name, "done" if n <= place else "now" if n == place + 1 else "to come")
        for n, name in enumerate(names)
    ]


def _deliver_action(uid: UUID) -> Action:
    return Action(_("The boxes are here"), reverse("deliver", args=[uid]), new_key())


def _lines_table(found: Mapping[str, Any], at: Here) -> Table:
    works = at.works and found["delivered_at"] is not None
    return Table(
        _("Lines"),
        LINE_COLUMNS,
        [_line_row(line, works=works) for line in found["lines"]],
        FIGURES,
        empty=_("The list has no lines."),
    )


def _line_row(line: Mapping[str, Any], *, works: bool) -> tuple[object, ...]:
    name = line["scientific_name"] or line["text"]
    boxes = ", ".join(str(one["box"]) for one in line["boxes"] if one["box"])
    todo = link(_("Count"), "count-line", line["uid"]) if works and not line["counted"] else ""
    return (
        name,
        line["box"] or boxes,
        line["listed"],
        line["received"],
        line["doa"],
        line["short"] or "",
        line["over"] or "",
        line["left"] or "",
        todo,
    )


# -- Delivery ----------------------------------------------------------------------------------


class DeliveryForm(Told):
    WITHOUT = ("standing", "set_aside", "why_aside", "reason")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["when"].label = _("When the boxes came")

    @property
    def opened(self) -> bool:
        """Windows for claims run from this time: it is asked for at once."""
        return True


@page
@require_http_methods(["GET", "HEAD", "POST"])
def deliver(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The boxes are here, now or at a time that is typed."""
    at = here(request, site_of_consignment(uid), access.HANDS)
    form = DeliveryForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: deliver_consignment(
            replace(asked, performed_at=at.now), uid=uid, delivered_at=asked.performed_at
        ),
        {"delivered_at": "when"},
    )
    if done:
        messages.success(request, _("The boxes are here. Windows for claims run from now on."))
        return redirect("consignment", uid)
    return show_form(
        request,
        at,
        form,
        _("The boxes are here"),
        lead=_(
            "Delivered now, unless an earlier time is told: windows for claims run from it."
        ),
        current="unpacking",
        back=("consignment", uid),
    )


# -- Counting ----------------------------------------------------------------------------------


class CountForm(Told):
    """Counted out of the bags. What the papers say is not shown: counts are typed blind."""

    WITHOUT = ("standing", "set_aside", "why_aside")

    box = One(required=False, label=later("Out of which box?"))
    received = Count(least=0, label=later("How many were in the bags, alive or dead?"))
    doa = Count(least=0, label=later("How many of them were dead on arrival?"))
    wrong_species = Count(
        least=0, required=False, label=later("How many are of another species?")
    )
    length_cm = Figure(
        required=False,
        label=later("How long are they, in cm?"),
        help_text=later("Nose to tail, the mean of a few: it says how many a container takes."),
    )

    def __init__(self, *args: Any, line: LineSeen, **options: Any) -> None:
        super().__init__(*args, **options)
        if len(line.boxes) < 2:
            del self.fields["box"]
        else:
            whole = ("", _("All boxes of this line at once"))
            self._choose("box", [whole, *((box, box) for box in line.boxes)])

    def counted(self) -> BoxCounted:
        given = self.cleaned_data
        return BoxCounted(
            given.get("box") or None,
            given["received"],
            given["doa"],
            given["wrong_species"] or 0,
        )


def _count(asked: Asking, line: UUID, form: CountForm) -> Answered:
    length = form.cleaned_data.get("length_cm")
    return count_line(asked, uid=line, count=form.counted(), length_cm=length)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def count(request: HttpRequest, uid: UUID) -> HttpResponse:
    line = line_seen(uid)
    at = here(request, line.site, access.HANDS)
    form = CountForm(request.POST or None, at=at, line=line)
    if send(request, form, lambda asked: _count(asked, uid, form)):
        said = form.counted()
        text = _("{line}: {received} received, {doa} DOA.").format(
            line=line.species or line.text, received=said.received, doa=said.doa
        )
        messages.success(request, text)
        return redirect("consignment", line.consignment)
    heading = _("Count {line}").format(line=line.species or line.text)
    return show_form(
        request, at, form, heading, current="unpacking", back=("consignment", line.consignment)
    )
