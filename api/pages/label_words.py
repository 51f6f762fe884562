"""What stands on a label, in words: made from what is known of the thing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.exports.labels import Label
from api.language import local_text
from api.pages.amounts import litres
from api.pages.words import plain
from protocols.hazards import Hazard, hazards_of_all
from protocols.units import Units
from stock.queries.labels import Printed, SpeciesOn

NOT_FOR_SALE = gettext_lazy("NOT FOR SALE")
MARKS = {
    Hazard.VENOM: gettext_lazy("Venom"),
    Hazard.SPINES: gettext_lazy("Spines"),
    Hazard.POISON: gettext_lazy("Poison"),
    Hazard.BLEACH: gettext_lazy("Bleach water"),
}


@dataclass(frozen=True, slots=True)
class Saying:
    """How it is said: by which clocks, in which units, under which address buyers find us."""

    zone: ZoneInfo
    now: datetime
    units: Units
    address: str


def labels(found: Iterable[Printed], said: Saying) -> list[Label]:
    """The labels of these things."""
    return [_label(one, said) for one in found]


def bleach_water() -> Label:
    """A label for the bath and the buckets that hold bleach water: nothing to scan on it."""
    return Label(
        title=_("Bleach water"),
        code="",
        scanned="",
        lines=(
            _("Never with acid (vinegar), ammonia water or formalin: the gas kills."),
            _("Gloves, goggles, fresh air."),
            _("Made at ___:___  mg/L _____  by _____"),
        ),
        band=_("NO ANIMALS, NO HANDS"),
        marks=((Hazard.BLEACH, str(MARKS[Hazard.BLEACH])),),
    )


def _label(one: Printed, said: Saying) -> Label:
    species = [(each.name or each.text, each.groups) for each in one.species]
    animals = one.what in ("batch", "bag")
    return Label(
        title=_title(one),
        code=one.number or one.code,
        scanned=_scanned(one, said.address),
        lines=tuple(line for line in LINES[one.what](one, said) if line),
        large=_limit(one, said),
        band=str(NOT_FOR_SALE) if animals and not one.certified else "",
        marks=tuple((hazard, str(MARKS[hazard])) for hazard in hazards_of_all(species)),
    )


def _scanned(one: Printed, address: str) -> str:
    """Our own code, read without network too; on what is sold the public address.

    In capitals both take the short form of a code: the address is read in either case.
    """
    return f"{address}/C/{one.address}".upper() if one.address else one.code.replace("-", "")


def _title(one: Printed) -> str:
    if one.what in ("sold", "batch"):
        return _named(one.species)
    if one.what == "kit":
        return _("Kit %(label)s") % {"label": one.label}
    return one.label


def _limit(one: Printed, said: Saying) -> str:
    if one.limit is None:
        return ""
    return _("Limit %(moment)s") % {"moment": _short(one.limit, said.zone)}


def _container(one: Printed, said: Saying) -> list[str]:
    filled = litres(said.units, one.fill_mark_l)
    return [
        _("Rack %(rack)s, %(room)s") % {"rack": one.rack, "room": one.room},
        _("To the mark %(volume)s") % {"volume": filled},
    ]


def _kit(one: Printed, said: Saying) -> list[str]:
    return [", ".join(plain(need) for need in one.needs)]


def _piece(one: Printed, said: Saying) -> list[str]:
    kit = _("Kit %(label)s") % {"label": one.holder} if one.holder else ""
    return [plain(one.type), kit]


def _instrument(one: Printed, said: Saying) -> list[str]:
    return [", ".join(plain(quantity) for quantity in one.quantities)]


def _batch(one: Printed, said: Saying) -> list[str]:
    """What was so when it was printed says when that was: paper does not follow the record."""
    made, needed = one.moves or (0, 0)
    where = _("In %(container)s") % {"container": one.holder} if one.holder else ""
    moves = _("moves %(made)s of %(needed)s") % {"made": made, "needed": needed}
    moves = moves if needed else ""
    return [
        ", ".join(part for part in (where, moves) if part),
        _("Printed %(moment)s") % {"moment": _short(said.now, said.zone)},
    ]


def _bag(one: Printed, said: Saying) -> list[str]:
    where = [
        _("Box %(box)s") % {"box": one.box} if one.box else "",
        _("Bag %(bag)s") % {"bag": one.bag} if one.bag else "",
    ]
    named = one.species[0].name or ""
    named = "" if named == one.label else named
    return [named, ", ".join(part for part in where if part), one.supplier]


def _sold(one: Printed, said: Saying) -> list[str]:
    issued = local_text(one.issued_at, said.zone) if one.issued_at else ""
    return [
        _("Batch %(code)s") % {"code": one.code},
        _("Record of its quarantine, of %(moment)s") % {"moment": issued},
        _("What it says now: scan. No health certificate."),
    ]


LINES = {
    "container": _container,
    "kit": _kit,
    "piece": _piece,
    "instrument": _instrument,
    "batch": _batch,
    "bag": _bag,
    "sold": _sold,
}


def _named(species: Iterable[SpeciesOn]) -> str:
    return ", ".join(one.name or one.text for one in species)


def _short(moment: datetime, zone: ZoneInfo) -> str:
    """A moment without its year, which no label outlives, and without its seconds: a limit
    that is read a little too early harms nobody."""
    year = moment.astimezone(zone).year
    return local_text(moment.replace(second=0), zone).replace(f" {year} ", " ")
