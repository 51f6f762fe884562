"""One make of water and whom it reached, and the makes that a batch was in."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.pages.amounts import degrees, litres, mass, number, salinity
from api.pages.links import label, link, when
from api.pages.mixing import fit_words, mixed_words
from api.pages.parts import PageLink, Table
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.makes import shown
from stock.queries.batch_seen import batch_head
from stock.queries.mixing import MakeSeen, make_head, make_seen
from stock.queries.shared_water import makes_of_batch, reached_by


@page
@require_safe
def make(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One make: how it stands, what stands against fish in it, and whom it reached."""
    at = here(request, make_head(uid).site_id)
    one, reached = make_seen(uid, at.now), reached_by(uid, at.now)
    row, now = one.row, one.standing
    pairs: list[tuple[str, object]] = [
        (_("Made"), when(row.made_at, at.zone)),
        (_("Mixed for"), mixed_words(one)),
        (
            _("Left"),
            _("{number} of {litres}").format(
                number=number(at.units, "volume", now.left_l),
                litres=litres(at.units, row.volume_l),
            ),
        ),
        (_("Salt"), _salt_words(one, at)),
        (_("Salinity"), salinity(at.units, now.salinity)),
        (_("Temperature"), degrees(at.units, now.temperature_c)),
        (_("Total chlorine"), f"{shown(now.total_chlorine_mg_l)} mg/L"),
        (_("Aired since"), when(row.aerated_since, at.zone) or _("not told")),
        (_("Fit for fish?"), fit_words(one)),
    ]
    context = {
        "heading": _("Make in {vat}").format(vat=row.vat),
        "pairs": pairs,
        "tables": [_containers(reached, at), _reached(reached, at)],
        "overdrawn": [one] if now.overdrawn_l else [],
        "ways": _ways_of_make(one, at),
    }
    return show(request, at, "make", context, current="mixing")


def _salt_words(one: MakeSeen, at: Here) -> str:
    weight = "" if one.row.salt_kg is None else f", {mass(at.units, one.row.salt_kg)}"
    return f"{one.row.salt_lot}{weight}"


def _ways_of_make(one: MakeSeen, at: Here) -> list[PageLink]:
    trace = f"{reverse('traces', args=[at.site.uid])}?of={one.row.uid}"
    ways = [PageLink(_("Trace from it"), trace)] if at.reads else []
    if not at.works:
        return ways
    fill = f"{reverse('tell-fill', args=[at.site.uid])}?make={one.row.uid}"
    check = reverse("check-make", args=[one.row.uid])
    return [
        PageLink(_("Fill a container from it"), fill),
        PageLink(_("Measure it again"), check),
        *ways,
    ]


def _containers(reached: dict[str, Any], at: Here) -> Table:
    return Table(
        _("What was filled from it"),
        (_("Container"), _("What"), _("When"), _("Litres")),
        [
            (
                link(one["container_label"], "container", one["container"]),
                plain(one["what"]),
                when(one["at"], at.zone),
                one["volume_l"],
            )
            for one in reached["containers"]
        ],
        numeric=frozenset({3}),
        empty=_("Nothing was filled from it yet."),
    )


def _reached(reached: dict[str, Any], at: Here) -> Table:
    return Table(
        _("Batches that its water was with"),
        (_("Batch"), _("In"), _("From"), _("To")),
        [
            (
                link(one["code"], "batch", one["uid"]),
                one["container_label"] + (_(", by its system") if one["by_system"] else ""),
                when(one["from"], at.zone),
                when(one["to"], at.zone) or _("still"),
            )
            for one in reached["batches"]
        ],
        empty=_("None so far."),
    )


@page
@require_safe
def water_of_batch(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Every make whose water a batch was in, or those it came out of."""
    batch = batch_head(uid)
    at = here(request, batch.site_id)
    rows = [
        (
            link(one["vat"] or _("withdrawn"), "make", one["make"])
            if one["vat"]
            else _("withdrawn"),
            one["container_label"] + (_(", by its system") if one["by_system"] else ""),
            plain(one["what"]),
            when(one["at"], at.zone),
            one["volume_l"],
            label(one["code"]),
        )
        for one in makes_of_batch(uid, at.now)
    ]
    table = Table(
        _("Makes of water"),
        (_("Make"), _("In"), _("What"), _("When"), _("Litres"), _("Then in batch")),
        rows,
        numeric=frozenset({4}),
        empty=_("No make was told of any container it stood in."),
    )
    back = PageLink(_("Back to the batch"), reverse("batch", args=[uid]))
    context = {
        "heading": _("Water of {batch}").format(batch=batch.code),
        "pairs": [],
        "tables": [table],
        "ways": [back],
    }
    return show(request, at, "make", context)
