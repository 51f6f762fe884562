"""Carry-over as managers and veterinarians see it: a model's figure beside their decision."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import Figure, later
from api.pages.links import link, when
from api.pages.parts import Table
from api.pages.pictures import expected_numbers
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.carryover.limits import FINDINGS, FLAGS, LIMITS
from protocols.carryover.parameters import SOURCES
from protocols.said import said
from stock import access
from stock.queries.batch_seen import batch_head
from stock.queries.carryover import Computed, carry_over_at, carry_over_of

ACTIONS = {
    "stay_72_more": later("Stay 72 h more where they are"),
    "move_now": later("One move now, and look after 72 h"),
    "restart_4_x_72": later("Restart: four stays of 72 h, the first move now"),
    "restart_6_x_48": later("Restart: six stays of 48 h, the first move now"),
}
CAUSES = {
    "water_carried": later("water carried along at moves"),
    "dead_animals": later("dead animals that lay in the water"),
    "joined_animals": later("animals that joined"),
    "exposure": later("infections from outside"),
    "stayed_on_fish": later("parasites that never left the fish"),
}
OF_STAY = {
    "hatched_in_stay_": later("cysts that hatched in stay {} before the move"),
    "gear_of_stay_": later("the container or kit of stay {}, which was not ready"),
}
# What the model says of any batch, each with what it rests on.
ADVICE = tuple(
    said("{text} ({sources})", text=text, sources="; ".join(SOURCES[one] for one in sources))
    for text, sources in FINDINGS.values()
)


@dataclass(frozen=True, slots=True)
class CarryOverShown:
    """All that stands beside the figure."""

    words: str
    odds: str
    in_reach: str
    cause: str
    computed: SafeString
    version: str
    picture: SafeString
    stays: Table
    actions: Table
    flags: Sequence[str]
    findings: Sequence[str] = ADVICE
    limits: Sequence[str] = LIMITS
    sources: Sequence[str] = tuple(SOURCES.values())


@page
@require_safe
def carry_over(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Of one batch, for those who decide; computed by a sweep, never here."""
    head = batch_head(uid)
    at = here(request, head.site_id, access.DECIDERS)
    context = {"row": head, **carry_over_context(uid, at)}
    return show(request, at, "carry_over", context, current="questions")


def carry_over_context(batch: UUID, at: Here) -> dict[str, Any]:
    """What the part shows of a batch; nothing for anybody who does not decide. One query."""
    if not at.decides:
        return {}
    computed = carry_over_of(batch)
    found = None if computed is None else computed.found
    return {
        "may_see_carry_over": True,
        "refused": "" if computed is None else computed.refused,
        "carry_over": computed and found and _shown(computed, found, at),
    }


def carry_over_table(site: UUID, at: Here) -> Table | None:
    """Every batch on the morning list, for those who decide. One query."""
    if not at.decides:
        return None
    rows = [
        (
            link(code, "carry-over", one.batch),
            one.found["on_fish"]["words"],
            one.found["on_fish"]["odds"],
            _cause(one.found["leading_cause"]),
            when(one.computed_at, at.zone),
        )
        for code, one in carry_over_at(site)
        if one.found is not None
    ]
    columns = (_("Batch"), _("On the fish still"), _("Odds"), _("Mostly by"), _("Computed"))
    return Table(_("Carry-over, by a model"), columns, rows) if rows else None


def _shown(computed: Computed, found: Mapping[str, Any], at: Here) -> CarryOverShown:
    began = computed.computed_at - timedelta(hours=int(found["hour"]))
    return CarryOverShown(
        words=found["on_fish"]["words"],
        odds=found["on_fish"]["odds"],
        in_reach=found["in_reach"]["odds"],
        cause=_cause(found["leading_cause"]),
        computed=when(computed.computed_at, at.zone),
        version=computed.version,
        picture=_picture(found),
        stays=_stays(found),
        actions=_actions(found, began, at),
        flags=[_flag(one) for one in found["flags"]],
    )


def _cause(name: str | None) -> str:
    """The leading cause in words."""
    for start, text in OF_STAY.items():
        if name and name.startswith(start):
            return text.format(name.removeprefix(start))
    return str(CAUSES.get(name or "", _("nothing")))


def _picture(found: Mapping[str, Any]) -> SafeString:
    lines = [
        (_("on the fish"), found["trophonts"]),
        (_("cysts"), found["cysts"]),
        (_("swimming"), found["theronts"]),
    ]
    moves = [stay["start_h"] for stay in found["stays"][1:]]
    return expected_numbers(int(found["hour"]), moves, lines)


def _stays(found: Mapping[str, Any]) -> Table:
    rows = [
        (
            _("Stay {n}").format(n=n),
            _("{start_h} to {end_h}").format(start_h=stay["start_h"], end_h=stay["end_h"]),
            *(_number(stay[name]) for name in ("drops", "hatches", "infections")),
            _number(found["trophonts"][stay["end_h"]]),
        )
        for n, stay in enumerate(found["stays"], 1)
    ]
    columns = (
        _("Stay"),
        _("Hours"),
        _("Cysts dropped"),
        _("Hatched"),
        _("New infections"),
        _("On the fish at its end"),
    )
    return Table(_("Expected numbers by stay"), columns, rows, numeric=frozenset({2, 3, 4, 5}))


def _number(number: float) -> str:
    """Two digits, and nothing finer than a millionth."""
    if number < 1e-6:
        return "0" if number == 0 else _("below 0.000001")
    return (
        f"{number:.0f}"
        if number >= 100
        else f"{float(f'{number:.2g}'):.6f}".rstrip("0").rstrip(".")
    )


def _actions(found: Mapping[str, Any], began: datetime, at: Here) -> Table:
    rows = [
        (
            ACTIONS[one["action"]],
            when(began + timedelta(hours=one["hour"]), at.zone),
            one["moves"],
            f"{Figure(one['work_h']):g} h",
            one["on_fish"]["odds"],
        )
        for one in found["actions"]
    ]
    columns = (_("From now on"), _("Until"), _("Moves"), _("Work"), _("On the fish then"))
    return Table(
        _("What could be done now, with ready containers"),
        columns,
        rows,
        numeric=frozenset({2, 3}),
    )


def _flag(one: Mapping[str, Any]) -> str:
    said = FLAGS.get(one["name"], plain(one["name"]))
    return said if one["hours"] is None else f"{said}: {one['hours']:g} h"
