"""Moving a batch: which container, which kit, how many, and what stands against it."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_http_methods

from api.pages import cautions, choices, stocking
from api.pages.amounts import on_a_slip
from api.pages.asking import send
from api.pages.counting import Recounted
from api.pages.fields import Count, Figure, One
from api.pages.forms import recorded, show_form
from api.pages.links import link
from api.pages.shell import Here, here, page
from protocols.slip_amounts import FillAmount
from protocols.values import Standing
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.moves import MoveAsked, move_batch
from stock.queries.amounts import fill_like
from stock.queries.batch_seen import stays_of
from stock.queries.choices import Choices, equipment_choices
from stock.queries.people import hands_at
from stock.queries.stocking_seen import takes_of_batch
from stock.refusals import Refused, refuse

NO_KIT = "none"


class MoveForm(Recounted):
    """The count is typed blind: what the record says stands nowhere on this page."""

    container = One(label="Into which container?")
    kit = One(label="With which kit?")
    missing = Count(
        least=0,
        required=False,
        label="How many are not found?",
        help_text="Only those that were searched for. Not found is not dead.",
    )
    searched = forms.BooleanField(
        required=False, label="The old container and its hollow parts were searched"
    )
    water_ml = Figure(
        unit="mL",
        min_value=0,
        required=False,
        label="How much of the old water came along?",
        help_text="As little as can be. Leave it empty if nobody can say.",
    )
    ended_stay = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, equipment: Choices, **options: Any) -> None:
        super().__init__(*args, **options)
        zone, now = self.at.zone, self.at.now
        self._choose("container", choices.equipment(equipment.containers, zone, now))
        kits = choices.equipment(equipment.kits, zone, now)
        self._choose("kit", [*kits, (NO_KIT, "No kit goes with them")])
        self.order_fields(["container", "kit", "count", "missing", "searched", "water_ml"])

    def asked(self, batch: UUID) -> MoveAsked:
        given = self.cleaned_data
        return MoveAsked(
            batch=batch,
            ended_stay=given["ended_stay"],
            container=UUID(given["container"]),
            kit=None if given["kit"] == NO_KIT else UUID(given["kit"]),
            counts=self.counts(),
            missing=given["missing"] or 0,
            searched=given["searched"] or None,
            carried={"water_ml": given["water_ml"]} if given["water_ml"] else {},
        )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The stay that was open when the page was opened is the one that ends."""
    rows = stays_of(uid, with_water=True)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = rows[-1]
    if request.method != "POST" and stay.ended_latest is not None:
        raise Refused(refuse("batch_closed", "Nobody of this batch is here any more."))
    equipment = equipment_choices(at.site.uid, at.now)
    form = MoveForm(
        request.POST or None,
        at=at,
        equipment=equipment,
        initial={"ended_stay": stay.uid},
    )
    answer = send(
        request, form, lambda asked: move_batch(asked, site=at.site, asked=form.asked(uid))
    )
    if answer:
        if recorded(request, answer, _done(answer.body)):
            stocking.warn(request, answer, at.units)
        return redirect("batch", uid)
    form.count_again()
    ready = [one.uid for one in stocking.ready(equipment.containers)]
    takes = takes_of_batch(stay.batch, ready, at.now)
    return show_form(
        request,
        at,
        form,
        f"Move {stay.batch.code} out of {stay.container.label}",
        do="Record the move",
        back=("batch", uid),
        cautions=(*cautions.handling(), *stocking.minded(takes)),
        lead=_water_first(stay, fill_like(stay, at.site.uid), at),
        table=stocking.takes_table(takes, at),
        table_says=stocking.PLANNING,
    )


class LateMoveForm(MoveForm):
    """A move that was made and not told: when, by whom, and why it is told only now."""

    ABOUT = ("note",)
    WITHOUT = ("standing", "set_aside", "why_aside")

    doer = One(label="Who did it?")

    def __init__(self, *args: Any, people: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("doer", [("", "Choose one"), *people])
        self.fields["when"].label = "When was it done?"
        for name in ("when", "reason"):
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = "Write something."
        self.fields[
            "when"
        ].help_text = f"By the clocks here, {self.at.now.astimezone(self.at.zone).tzname()}."
        self.order_fields(["when", "when_which", "doer", "reason"])


@page
@require_http_methods(["GET", "HEAD", "POST"])
def late_move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A late entry: it counts as told, and for certain once a second person confirms it."""
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = rows[-1]
    form = LateMoveForm(
        request.POST or None,
        at=at,
        equipment=equipment_choices(at.site.uid, at.now),
        people=hands_at(at.site.uid),
        initial={"ended_stay": stay.uid, "doer": str(at.person.uid)},
    )
    answer = send(request, form, lambda asked: _tell_late(form, asked, at, uid))
    if answer:
        recorded(request, answer, f"{_done(answer.body)} A second person confirms it.")
        return redirect("batch", uid)
    return show_form(
        request,
        at,
        form,
        f"{stay.batch.code} was moved out of {stay.container.label}, and nobody told it",
        do="Record what was done",
        back=("batch", uid),
        lead=LATE_LEAD,
    )


LATE_LEAD = (
    "What is told late is asked about until somebody confirms it who neither did it nor tells "
    "it. Until then the next limit counts from the time given here."
)


def _tell_late(form: LateMoveForm, asked: Asking, at: Here, batch: UUID) -> Answered:
    doer = UUID(form.cleaned_data["doer"])
    told = replace(asked, standing=Standing.HAPPENED, doer=doer)
    return move_batch(told, site=at.site, asked=form.asked(batch))


def _done(body: dict[str, Any]) -> str:
    """What the move came to, as the batch reads now."""
    batch = body.get("batch") or {"code": "The batch", "stay": None}
    stay = batch["stay"]
    text = f"{batch['code']} is in {stay['container_label']}." if stay else "Nobody is left."
    if stay and stay.get("limit_local"):
        text += f" Next limit {stay['limit_local']}."
    return text


def _water_first(stay: Any, amount: FillAmount | None, at: Here) -> SafeString:
    """A move needs fresh readings of both waters, and a container that is filled alike."""
    return format_html(
        "{}Both waters are read first: {}, and the container they go to. {}",
        f"A container as large as theirs takes {on_a_slip(at.units, amount)}. "
        if amount
        else "",
        link(f"read {stay.container.label}", "read-water", stay.container_id),
        link("It was done earlier, and nobody told it", "late-move", stay.batch_id),
    )
