"""Splitting a batch, putting it together with another one, and where they came from."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later, local_text
from api.pages import cautions, choices
from api.pages.asking import Told, send
from api.pages.fields import Count, One
from api.pages.forms import recorded, show_form
from api.pages.links import link, when
from api.pages.moving_forms import NO_KIT
from api.pages.parts import Table
from api.pages.pictures.lineages import Edge, Node, lineage_picture
from api.pages.shell import Here, here, page, show
from stock import access
from stock.doors.splitting import JoinAsked, PartAsked, join_batches, split_batch
from stock.queries.batch_seen import batch_head, stays_of
from stock.queries.came_from import CameFrom, Companion, came_from, companions
from stock.queries.choices import Choices, equipment_choices
from stock.queries.protocols import version_at
from stock.refusals import Refused, refuse

METHODS = ["GET", "HEAD", "POST"]


def _open_stay(rows: list[Any]) -> Any:
    stay = next((row for row in rows if row.ended_latest is None), None)
    if stay is None:
        raise Refused(refuse("batch_closed", _("Nobody of this batch is here any more.")))
    return stay


# -- Split -------------------------------------------------------------------------------------


class SplitForm(Told):
    """Some go elsewhere, the others stay. Both numbers are typed: they must add up."""

    go = Count(label=later("How many go elsewhere?"))
    stay = Count(label=later("How many stay?"))
    container = One(label=later("Into which container do they go?"))
    kit = One(label=later("With which kit?"))

    def __init__(self, *args: Any, equipment: Choices, **options: Any) -> None:
        super().__init__(*args, **options)
        zone, now = self.at.zone, self.at.now
        self._choose("container", choices.equipment(equipment.containers, zone, now))
        kits = choices.equipment(equipment.kits, zone, now)
        self._choose("kit", [*kits, (NO_KIT, _("No kit goes with them"))])

    def parts(self) -> list[PartAsked]:
        given = self.cleaned_data
        kit = None if given["kit"] == NO_KIT else UUID(given["kit"])
        return [
            PartAsked(given["stay"]),
            PartAsked(given["go"], UUID(given["container"]), kit),
        ]


@page
@require_http_methods(METHODS)
def split(request: HttpRequest, uid: UUID) -> HttpResponse:
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = _open_stay(rows)
    form = SplitForm(
        request.POST or None, at=at, equipment=equipment_choices(at.site.uid, at.now)
    )
    names = {"parts": "go", "parts/1/to_container": "container", "parts/1/kit": "kit"}
    done = send(
        request, form, lambda asked: split_batch(asked, batch=uid, parts=form.parts()), names
    )
    if done:
        children = done.body.get("children") or []
        codes = " and ".join(one["code"] for one in children)
        recorded(request, done, _("They are {codes} now.").format(codes=codes))
        return redirect("batch", children[-1]["uid"] if children else uid)
    return show_form(
        request,
        at,
        form,
        _("Split {batch}").format(batch=stay.batch.code),
        do=_("Split them"),
        back=("batch", uid),
        cautions=cautions.handling(),
        lead=_ahead_of_split(stay, at),
    )


def _ahead_of_split(stay: Any, at: Here) -> str:
    """What the split would do to limits and earliest end."""
    batch = stay.batch
    text = _("Both keep the history of all. For who goes it is a move")
    if batch.limit is None:
        return _("{said}; no limit runs for either.").format(said=text)
    new = local_text(at.now + version_at(at.site.uid, batch.protocol).stay_limit, at.zone)
    text += _(": gone now, their next limit is {new}. Who stays keeps the limit of ").format(
        new=new
    )
    text += f"{local_text(batch.limit, at.zone)}."
    if batch.earliest_end is not None:
        text += _(" Earliest end of both: {earliest_end}.").format(
            earliest_end=local_text(batch.earliest_end, at.zone)
        )
    return text


# -- Join --------------------------------------------------------------------------------------


class JoinForm(Told):
    """Another batch is put in with this one."""

    other = One(label=later("Who is put in with them?"))
    told_apart = forms.BooleanField(required=False, label=later("They can be told apart"))

    def __init__(self, *args: Any, found: Sequence[Companion], **options: Any) -> None:
        super().__init__(*args, **options)
        rows = [(str(one.uid), self._ahead(one)) for one in found]
        self._choose("other", [("", _("Choose one")), *rows])

    def _ahead(self, one: Companion) -> str:
        """Whom, and what all together would have."""
        text = _("{code} in {label}. Together: limit {limit}").format(
            code=one.code, label=one.label, limit=self._text(one.limit)
        )
        text += _(", earliest end {end}").format(end=self._text(one.earliest_end))
        return _("{said}; a running series is lost").format(said=text) if one.restarts else text

    def _text(self, moment: datetime | None) -> str:
        return _("none") if moment is None else local_text(moment, self.at.zone)


@page
@require_http_methods(METHODS)
def join(request: HttpRequest, uid: UUID) -> HttpResponse:
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = _open_stay(rows)
    form = JoinForm(request.POST or None, at=at, found=companions(stay, at.now))
    done = send(
        request,
        form,
        lambda asked: join_batches(asked, asked=_asked(stay, form.cleaned_data)),
        {"members": "other"},
    )
    if done:
        joined = done.body.get("batch")
        recorded(
            request,
            done,
            _("They are {code} now.").format(code=joined["code"]) if joined else "",
        )
        return redirect("batch", joined["uid"] if joined else uid)
    return show_form(
        request,
        at,
        form,
        _("Put others in with {batch} in {container}").format(
            batch=stay.batch.code, container=stay.container.label
        ),
        do=_("Put them together"),
        back=("batch", uid),
        cautions=cautions.handling(),
        lead=_(
            "All share the latest start, the fewest moves and the earliest "
            "limit. Taking them out again brings no series back."
        ),
    )


def _asked(stay: Any, given: dict[str, Any]) -> JoinAsked:
    members = (stay.batch_id, UUID(given["other"]))
    return JoinAsked(members, stay.container_id, told_apart=given["told_apart"])


# -- Where they came from ----------------------------------------------------------------------


@page
@require_safe
def where_from(request: HttpRequest, uid: UUID) -> HttpResponse:
    batch = batch_head(uid)
    at = here(request, batch.site_id)
    found = came_from(batch)
    context = {
        "batch": batch,
        "heading": _("Where {batch} came from").format(batch=batch.code),
        "picture": lineage_picture(list(_nodes(found)), list(_edges(found))),
        "table": _table(found, at),
    }
    return show(request, at, "where_from", context)


def _nodes(found: CameFrom) -> Iterator[Node]:
    for one in found.batches:
        yield Node(str(one.uid), one.code, f"{one.count} {one.came}", one.depth)


def _edges(found: CameFrom) -> Iterator[Edge]:
    for one in found.passages:
        yield Edge(str(one.begin), str(one.end), one.count)


def _table(found: CameFrom, at: Here) -> Table:
    codes = {one.uid: one.code for one in found.batches}
    rows = []
    for one in found.batches:
        into = [
            _("{count} into {codes}").format(count=way.count, codes=codes[way.end])
            for way in found.passages
            if way.begin == one.uid
        ]
        rows.append(
            (
                link(one.code, "batch", one.uid),
                f"{one.count} {one.came}",
                when(one.at, at.zone),
                ", ".join(one.suppliers),
                ", ".join(into),
            )
        )
    return Table(
        _("Where they came from"),
        (_("Batch"), _("How many came in"), _("When"), _("Supplier"), _("Went on")),
        rows,
    )
