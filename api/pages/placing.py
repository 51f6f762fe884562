"""Placing animals out of their bags into a container, with a kit."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages import cautions, choices, stocking
from api.pages.asking import Told, send
from api.pages.fields import Count, One
from api.pages.forms import recorded, show_form
from api.pages.shell import here, page
from protocols.ruled import Protocol
from protocols.versions import DEFAULT
from stock import access
from stock.doors.batches import PlaceAsked, place_batch
from stock.queries.choices import Choices, equipment_choices
from stock.queries.protocols import moves_of
from stock.queries.stocking_seen import takes_of_lines
from stock.queries.unpacking import Left, left_to_place, site_of_consignment

LINES_MOST = 40  # a batch of more lines than this is placed in several steps


class PlaceForm(Told):
    """How many of each line go together, where, with which kit, and counted again."""

    container = One(label=later("Into which container?"))
    kit = One(label=later("With which kit?"))
    protocol = One(label=later("Under which protocol?"), initial=DEFAULT)

    def __init__(
        self,
        *args: Any,
        left: Sequence[Left],
        equipment: Choices,
        versions: Sequence[Protocol],
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.left = left
        several = len(left) > 1
        for one in left:
            box = _(", box {box}").format(box=one.box) if one.box else ""
            self.fields[line_field(one.line)] = Count(
                required=not several,
                least=0,
                label=_("How many {name}{box}?").format(name=one.name, box=box),
            )
        zone, now = self.at.zone, self.at.now
        self._choose("container", choices.equipment(equipment.containers, zone, now))
        self._choose("kit", choices.equipment(equipment.kits, zone, now))
        self._choose("protocol", choices.protocols(versions))
        self.order_fields([line_field(one.line) for one in left])

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not self.errors and not any(self.counted(given)):
            self.add_error(None, _("Say how many."))
        return given

    def counted(self, given: dict[str, Any]) -> list[int]:
        return [given.get(line_field(one.line)) or 0 for one in self.left]

    def asked(self) -> PlaceAsked:
        given = self.cleaned_data
        counts = zip(self.left, self.counted(given), strict=True)
        sources = tuple((one.line, count) for one, count in counts if count)
        return PlaceAsked(
            sources=sources,
            container=UUID(given["container"]),
            kit=UUID(given["kit"]),
            counts=(sum(count for _, count in sources),),
            protocol=given["protocol"],
        )

    def names(self) -> dict[str, str]:
        """From where the door points to the fields: it counts the lines that go along."""
        given = self.cleaned_data
        counts = zip(self.left, self.counted(given), strict=True)
        along = [one for one, count in counts if count]
        return {f"from/{n}/count": line_field(one.line) for n, one in enumerate(along)}


def line_field(line: UUID) -> str:
    return f"line-{line}"


@page
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Place what is left of a consignment, or a part of it, in one container."""
    left = left_to_place(uid)[:LINES_MOST]
    at = here(request, left[0].site if left else site_of_consignment(uid), access.HANDS)
    if not left:
        messages.warning(request, _("Nothing of this consignment is left to be placed."))
        return redirect("consignment", uid)
    equipment = equipment_choices(at.site.uid, at.now)
    form = PlaceForm(
        request.POST or None,
        at=at,
        left=left,
        equipment=equipment,
        versions=moves_of(at.person.organisation),
    )
    names = form.names() if form.is_valid() else {}
    answer = send(
        request,
        form,
        lambda asked: place_batch(asked, site=at.site, asked=form.asked()),
        names,
    )
    if answer:
        batch = answer.body.get("batch")
        code = batch["code"] if batch else ""
        if recorded(request, answer, _("Batch {code} is placed.").format(code=code)) and batch:
            stocking.warn(request, answer, at.units)
            return redirect("batch", batch["uid"])
        return redirect("questions", at.site.uid)
    ready = [one.uid for one in stocking.ready(equipment.containers)]
    takes = takes_of_lines(at.site.uid, {one.line: one.count for one in left}, ready, at.now)
    return show_form(
        request,
        at,
        form,
        _("Place them"),
        do=_("Place them"),
        back=("consignment", uid),
        current="unpacking",
        cautions=(*cautions.handling(), *stocking.minded(takes)),
        table=stocking.takes_table(takes, at),
        table_says=stocking.PLANNING,
    )
