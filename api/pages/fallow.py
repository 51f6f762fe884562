"""A system without fish: since when, and against what that is long enough."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import later, local_text
from api.pages.links import when
from api.pages.parts import PageLink, Table
from api.pages.shell import Here, here, page, show
from protocols.library.fallow import Against, FallowState, LeftAlone
from protocols.library.values import Fallow
from protocols.versions import definition
from stock.queries.fallow import system_head, system_left_alone

RULE = "fallow-system@1"
WORDS = {
    FallowState.FISH_IN_IT: later("there are fish in it"),
    FallowState.NO_FIGURE: later("no figure is safe"),
    FallowState.RUNNING: later("not yet"),
    FallowState.LONG_ENOUGH: later("long enough"),
}


@page
@require_safe
def fallow(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The clock of one system against every organism, as far as it was measured."""
    system = system_head(uid)
    at = here(request, system.site_id)
    rule = definition(RULE)
    if not isinstance(rule, Fallow):
        raise TypeError(f"{RULE} is no fallow")
    poor = request.GET.get("poor_oxygen") == "true"
    found = system_left_alone(system, rule, at.now, poor_oxygen=poor)
    address = reverse("fallow", args=[uid])
    ways = (
        PageLink(_("There is none, or it is well supplied"), address)
        if poor
        else PageLink(
            _("Sand or rock in it may be poor in oxygen"), f"{address}?poor_oxygen=true"
        )
    )
    context = {
        "system": system,
        "said": _said(found, at),
        "pairs": _pairs(found, at),
        "table": Table(
            _("Against what it is long enough"),
            (_("Organism"), _("Days needed"), _("Over"), _("Is it long enough?")),
            [_row(one, at) for one in found.against],
            numeric=frozenset({1}),
        ),
        "cautions": rule.cautions,
        "restarts": rule.restarts_at,
        "rule": rule.key,
        "ways": [ways],
    }
    return show(request, at, "fallow", context, current="protocols")


def _said(found: LeftAlone, at: Here) -> str:
    if found.since is None:
        return _("There are fish in it, or some that nobody found: no clock runs.")
    return _("Left alone since {since}.").format(since=local_text(found.since, at.zone))


def _pairs(found: LeftAlone, at: Here) -> list[tuple[str, str]]:
    if found.since is None:
        return []
    last = _("nothing since the last fish left")
    if found.last is not None:
        last = f"{found.last.what}, {local_text(found.last.at, at.zone)}"
    hours = int(found.unknown.total_seconds()) // 3600
    coldest = _("nobody measured")
    if found.coldest_c is not None:
        coldest = at.units.says("temperature", found.coldest_c)
    return [
        (_("Put in last"), last),
        (_("Coldest since then"), coldest),
        (_("Nobody knows how warm it was for"), f"{hours} h" if hours else _("no time")),
    ]


def _row(one: Against, at: Here) -> tuple[object, ...]:
    state = WORDS[one.state]
    if one.why and one.state is FallowState.NO_FIGURE:
        state = f"{state}: {one.why}"
    return one.organism, one.days or "", when(one.ends_at, at.zone), state
