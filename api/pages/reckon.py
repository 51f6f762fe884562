"""Reckonings about water: asked by an address, so that nothing is kept."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import spoken
from api.pages.parts import PageLink
from api.pages.reckon_forms import ReckonForm
from api.pages.reckon_words import DIGITS, GROUPS, HEADINGS, SORT_OF
from api.pages.shell import here, page, show
from protocols.units import PERSONAL, SORTS, Unit, shown, unit_of
from protocols.water import QUANTITIES, Answer

MEANS_SALINITY = "salinity"
GRAVITY = "SG 25/25"


@dataclass(frozen=True, slots=True)
class Figure:
    """An answer as it is read: the number in its unit, the same in others, what to mind."""

    number: str
    unit: str
    others: tuple[str, ...]
    flags: tuple[str, ...]


@page
@require_safe
def reckonings(request: HttpRequest, site: UUID) -> HttpResponse:
    """Everything that can be reckoned, by groups."""
    at = here(request, site)
    groups = [
        (
            group,
            [
                PageLink(text, reverse(f"reckon-{name}", args=[site]))
                for name, text in each.items()
            ],
        )
        for group, each in GROUPS.items()
    ]
    return show(request, at, "reckonings", {"groups": groups}, current="mixing")


@page
@require_safe
def reckon(request: HttpRequest, site: UUID, name: str) -> HttpResponse:
    """One reckoning. What was refused shows no number at all."""
    at, quantity = here(request, site), QUANTITIES[name]
    preferred = {sort: at.units.of(sort).name for sort in PERSONAL}
    form = ReckonForm(request.GET or None, quantity=quantity, preferred=preferred)
    answer = form.reckoned()
    context: dict[str, Any] = {
        "form": form,
        "heading": HEADINGS[name],
        "quantity": quantity,
        "figure": None if answer is None else figure_of(name, answer),
        "caution": quantity.cautions[0] if quantity.cautions else "",
        "cautions_more": quantity.cautions[1:],
        "about": (
            (_("Formula"), quantity.formula),
            (_("Range"), quantity.range),
            (_("Source"), quantity.source),
        ),
        "back": reverse("reckon", args=[site]),
    }
    status = 400 if form.is_bound and form.errors else 200
    return show(request, at, "reckoning", context, current="mixing", status=status)


def figure_of(name: str, answer: Answer) -> Figure:
    """The answer with as many digits as mean something."""
    unit = "" if answer.unit == "1" else answer.unit
    return Figure(
        number=rounded(answer.value, DIGITS.get(name, 4)),
        unit=unit,
        others=tuple(_others(name, answer)),
        flags=tuple(spoken(one.text) for one in answer.flags),
    )


def rounded(value: float, digits: int) -> str:
    """So many digits, but whole numbers are never cut; without an exponent."""
    text = format(Decimal(f"{value:.{digits}g}"), "f")
    return f"{value:.0f}" if abs(value) >= 10**digits else text


def _others(name: str, answer: Answer) -> Iterator[str]:
    if name == "nh3_fraction":
        yield f"{rounded(answer.value * 100, DIGITS[name])} %"
    if MEANS_SALINITY in name:
        yield f"{GRAVITY}: {shown(unit_of('salinity', GRAVITY), Decimal(str(answer.value)))}"
    for unit in SORTS.get(SORT_OF.get(answer.unit, ""), ())[1:]:
        yield f"{_in(unit, answer.value)} {unit.words}"


def _in(unit: Unit, value: float) -> str:
    return shown(unit, Decimal(repr(value)))
