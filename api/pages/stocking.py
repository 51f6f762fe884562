"""What containers take and how animals are handled, on the pages where they are put in."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _

from api.language import later
from api.pages.amounts import litres
from api.pages.parts import Table
from api.pages.shell import Here
from protocols.handling import cautions
from protocols.stocking_answer import Binds
from protocols.stocking_plan import Sized, Stocked
from protocols.units import Units
from protocols.values import State
from stock.answers import Answered
from stock.queries.choices import Choice
from stock.queries.stocking_seen import Class

LABELS_MOST = 4
PLANNING = later(
    "Planned for the whole stay without a filter, from the length, in "
    "water as planned; animals that do not arrive today are fed. Count "
    "and read all the same."
)
BINDS = {
    Binds.AMMONIA: "ammonia",
    Binds.OXYGEN: "oxygen",
    Binds.ONE_PER_CELL: later("they fight"),
    Binds.TOXIC_ALONE: later("they poison the water"),
}


def ready(choices: Iterable[Choice]) -> list[Choice]:
    """Those in which animals can be put now."""
    return [one for one in choices if one.state is State.READY]


def takes_table(found: Sequence[Class], at: Here) -> Table | None:
    """A row for each kind, a column for containers that are alike; None without containers."""
    if not found:
        return None
    kinds = [one.kinds[0] for one in found[0].answers]
    return Table(
        _("How many a container takes until the limit"),
        (_("Animal"), _("One of them"), *(_heading(one, at) for one in found)),
        [
            (sized.kind.name, _one(sized), *(_most(each.answers[n]) for each in found))
            for n, sized in enumerate(kinds)
        ],
        empty=_("Nothing to be placed."),
    )


def minded(found: Sequence[Class]) -> tuple[str, ...]:
    """What to mind with these animals, in these containers."""
    every = frozenset(one for each in found for a in each.answers for one in a.kinds[0].minded)
    lid = all(one.lid for one in found)
    mixed = bool(found) and len(found[0].answers) > 1
    return tuple(one.text for one in cautions(every, lid=lid, mixed=mixed))


def warn(request: HttpRequest, answer: Answered, units: Units) -> None:
    """Say beside what was recorded what will become of them, where that asks for something."""
    for one in answer.body.get("warnings", ()):
        full = one["code"] == "too_full"
        said = too_full(answer.body["stocking"], units) if full else one["text"]
        messages.warning(request, said)


def too_full(stocking: Mapping[str, Any], units: Units) -> str:
    """What will be, and what may be changed, in the person's own units."""
    return " ".join([stocking["text"], *(way_said(one, units) for one in stocking["ways"])])


def way_said(way: Mapping[str, Any], units: Units) -> str:
    """One thing to change; the litres in it as this person reads them."""
    numbers = way["numbers"]
    for name in ("volume_l", "litres"):
        if name in numbers:
            kept = f"{numbers[name]:g}"
            return str(way["text"]).replace(f"{kept} L", litres(units, kept))
    return str(way["text"])


def _heading(one: Class, at: Here) -> str:
    """`60 L: R1-01, R1-02`; what they lack stands with them."""
    more = len(one.labels) - LABELS_MOST
    labels = ", ".join(one.labels[:LABELS_MOST]) + (
        _(" and {more} more").format(more=more) if more > 0 else ""
    )
    volume = at.units.says("volume", Decimal(one.volume_l), rounded=True)
    return f"{volume}{''.join(_lacks(one))}: {labels}"


def _lacks(one: Class) -> Iterator[str]:
    if not one.lid:
        yield _(", no lid")
    if not one.air_stone:
        yield _(", no air stone")


def _one(sized: Sized) -> str:
    if sized.animals is None:
        return _("length not measured")
    error = round(100 * sized.values.mass_error)
    length, mass = sized.kind.length_cm, sized.animals.mass_g
    return _("{length:g} cm, about {mass:.1f} g, up to {error} % more or less").format(
        length=length, mass=mass, error=error
    )


def _most(found: Stocked) -> str:
    if found.answer is None:
        return _("not known")
    if found.answer.most is None:
        return _("as many as there are")
    why = BINDS[found.answer.binds] if found.answer.binds else ""
    return _("at most {most}: {why}").format(most=found.answer.most, why=why)
