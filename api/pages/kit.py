"""Kits and containers: state by word, pieces, uses, and what was done to them."""

from collections.abc import Iterable
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import later, local_text
from api.pages.amounts import litres, reading
from api.pages.history import lines
from api.pages.links import label, link, when
from api.pages.parts import PageLink, Table
from api.pages.pictures import Vessel
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from api.templatetags.fillmark import figures
from stock.queries.choices import Choice, equipment_choices
from stock.queries.equipment_seen import (
    Asked,
    ContainerSeen,
    Kept,
    KitSeen,
    container_head,
    container_seen,
    kit_head,
    kit_seen,
    pieces_told_of,
)
from stock.queries.told import entries_about

ORDER = ("ready", "drying", "disinfected", "dirty", "incomplete", "defective", "in_use")


@page
@require_safe
def kits(request: HttpRequest, site: UUID) -> HttpResponse:
    """Every kit with its state, the ready ones first."""
    at = here(request, site)
    found = equipment_choices(site, at.now).kits
    rows = sorted(found, key=lambda one: (ORDER.index(one.state), one.label))
    context = {
        "table": Table(
            _("Kits"),
            (_("Kit"), _("State"), _("Ready"), _("Works in")),
            [_row(one, at) for one in rows],
            empty=_("No kit is set up yet."),
        ),
        "says": _("{ready} of {count} ready").format(
            ready=sum(one.state == "ready" for one in rows), count=len(rows)
        ),
        "treat": [
            PageLink(text, reverse(name, args=[site])) for name, text in (*TREAT, FIT, BROKEN)
        ]
        if at.works
        else [],
    }
    return show(request, at, "kits", context, current="kits")


WET = ("find-wet", later("Found wet"))
TREAT = (("disinfect", later("Disinfect")), ("see-dry", later("Seen dry")), WET)
FIT = ("fit-piece", later("Fit a piece"))
BROKEN = ("mark-defective", later("A piece is defective"))


def _row(one: Choice, at: Here) -> tuple[object, ...]:
    ready = when(one.ready_at if one.state == "drying" else None, at.zone)
    return link(one.label, "kit", one.uid), plain(one.state), ready, label(one.used_by)


@page
@require_safe
def kit(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One kit: its pieces, where it was used, and what was told of it."""
    row = kit_head(uid)
    at = here(request, row.site_id)
    found = kit_seen(row, at.now)
    told = entries_about(at.site.uid, pieces_told_of(found))
    context = {
        "kit": row,
        "state": state_words(found.kept, at),
        "missing": ", ".join(plain(one) for one in found.missing),
        "pieces": _pieces_table(found, at),
        "uses": _uses_table(found, at),
        "lines": lines(told, at),
        "treat": _treat(uid, found.kept, at, FIT, BROKEN),
    }
    return show(request, at, "kit", context, current="kits")


@page
@require_safe
def container(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One container: who is in it or how ready it is, its water, and what was told of it."""
    row = container_head(uid)
    at = here(request, row.site_id)
    found = container_seen(row, at.now)
    told = entries_about(at.site.uid, [uid])
    context = {
        "container": row,
        "stay": found.stay,
        "state": state_words(found.kept, at),
        "vessel": Vessel(row.label, plain(found.kept.state), state=found.kept.state),
        "readings": _readings_table(found, at),
        "fill_mark": litres(at.units, found.container.fill_mark_l),
        "uses": _stays_table(found, at),
        "lines": lines(told, at),
        "treat": _treat(uid, found.kept, at, FIT),
    }
    return show(request, at, "container", context, current="room")


def state_words(kept: Kept, at: Here) -> str:
    """`drying since ..., ready ...`: everything that is known of readiness."""
    text = plain(kept.state)
    if kept.since:
        text += _(" since {since}").format(since=local_text(kept.since, at.zone))
    if kept.ready_at and kept.ready_at > at.now:
        left = figures(int((kept.ready_at - at.now).total_seconds()))
        text += _(", ready {ready_at}, in {left}").format(
            ready_at=local_text(kept.ready_at, at.zone), left=left
        )
    return text


def _treat(uid: UUID, kept: Kept, at: Here, *others: tuple[str, str]) -> Iterable[PageLink]:
    """What may be done to it now; nothing that is in use is disinfected."""
    if not at.works:
        return []
    ways = (WET,) if kept.state == "in_use" else TREAT
    return [
        PageLink(text, f"{reverse(name, args=[at.site.uid])}?subject={uid}")
        for name, text in (*ways, *others)
    ]


def _pieces_table(found: KitSeen, at: Here) -> Table:
    return Table(
        _("Pieces"),
        (_("Piece"), _("What it is"), _("State"), _("Ready")),
        [
            (
                one.label,
                plain(one.type) + (_(", single use") if one.single_use else ""),
                plain(one.kept.state),
                when(one.kept.ready_at if one.kept.state == "drying" else None, at.zone),
            )
            for one in found.pieces
        ],
        empty=_("No piece is fitted to it."),
    )


def _uses_table(found: KitSeen, at: Here) -> Table:
    return Table(
        _("Where it was used"),
        (_("Batch"), _("Container"), _("From"), _("Until"), _("Was it ready?")),
        [
            (
                link(one.batch.code, "batch", one.batch_id),
                label(one.container.label),
                when(one.began_earliest, at.zone),
                when(one.ended_latest, at.zone) or _("now"),
                _was_ready(found.asked.get(one.uid)),
            )
            for one in found.uses
        ],
        empty=_("It was never used."),
    )


def _was_ready(asked: Asked | None) -> object:
    """Yes, or the question that it is, also after somebody decided it."""
    if asked is None:
        return _("yes")
    said = (
        _("no, not decided")
        if asked.open
        else _("no, decided: {decided}").format(decided=plain(asked.decided))
    )
    return link(said, "question", asked.uid)


def _stays_table(found: ContainerSeen, at: Here) -> Table:
    return Table(
        _("Who was in it"),
        (_("Batch"), _("Kit"), _("From"), _("Until"), _("Was it ready?")),
        [
            (
                link(one.batch.code, "batch", one.batch_id),
                label(one.kit and one.kit.label),
                when(one.began_earliest, at.zone),
                when(one.ended_latest, at.zone) or _("now"),
                _was_ready(found.asked.get(one.uid)),
            )
            for one in found.uses
        ],
        empty=_("Nobody was in it yet."),
    )


def _readings_table(found: ContainerSeen, at: Here) -> Table:
    return Table(
        _("Its water, newest first"),
        (_("What"), _("Value"), _("When"), _("With")),
        [
            (
                plain(one.quantity),
                reading(
                    at.units,
                    one.quantity,
                    one.value,
                    one.unit,
                    one.instrument.convention if one.instrument else None,
                )
                + (_(", in doubt") if one.in_doubt else ""),
                when(one.performed_at, at.zone),
                label(one.instrument and one.instrument.label),
            )
            for one in found.readings
        ],
        empty=_("Nobody has read its water."),
    )
