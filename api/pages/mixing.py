"""The mixing room: what stands, what the coming moves need, and what it takes to make it."""

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import later, month, spoken, weekday
from api.pages import cautions
from api.pages.amounts import degrees, litres, mass, number, salinity
from api.pages.links import label, link, when
from api.pages.parts import PageLink, Table
from api.pages.pictures.needs import Bar, need_bars, need_key
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.clocks import elapsed_text
from protocols.slip_amounts import (
    NO_BLEACH,
    Products,
    bring_to,
    salt_text,
    strength_text,
)
from protocols.water_needs import Day, Needs, Water
from stock.queries.mixing import (
    LotSeen,
    MakeSeen,
    lots_seen,
    makes_seen,
)
from stock.queries.water_needs import BathToMake, NeedsSeen, needs_seen

MINUTE = timedelta(minutes=1)
TELL = (
    ("tell-make", later("Tell a make")),
    ("tell-fill", later("Fill a container")),
    ("tell-salt", later("Salt came, or was weighed")),
)
SET_UP = (
    ("set-up-salt-lot", later("A new salt lot")),
    ("set-up-bleach", later("A new bottle of bleach")),
)


@page
@require_safe
def mixing_room(request: HttpRequest, site: UUID) -> HttpResponse:
    """Everything on one page: who mixes needs all of it, with wet hands."""
    at = here(request, site)
    makes, lots = makes_seen(site, at.now), lots_seen(site, at.now)
    found = needs_seen(site, at.now, at.zone, makes=makes, lots=lots)
    context = {
        "says": _says(found.needs, at),
        "picture": need_bars([_bar(one) for one in found.needs.days]),
        "key": need_key(),
        "days": _days(found.needs, at),
        "recipes": _recipes(found, at),
        "salt": salt_text(found.products.salt),
        "makes": _makes(makes, found, at),
        "overdrawn": [one for one in makes if one.standing.overdrawn_l],
        "baths": _baths(found.baths),
        "products": _products(lots, found.products, at),
        "mixing": cautions.mixing(),
        "mixing_more": cautions.mixing()[1:],
        "bathing": cautions.treating(),
        "bathing_more": cautions.treating()[1:],
        "tell": _links(TELL, site) if at.works else [],
        "set_up": _links(SET_UP, site) if at.manages else [],
        "reckon": reverse("reckon", args=[site]),
    }
    return show(request, at, "mixing", context, current="mixing")


def _links(names: tuple[tuple[str, str], ...], site: UUID) -> list[PageLink]:
    return [PageLink(text, reverse(name, args=[site])) for name, text in names]


def _says(found: Needs, at: Here) -> str:
    text = _("{litres} stand ready").format(litres=litres(at.units, found.standing_l))
    if found.short_from:
        text += _("; more is needed from {day}").format(day=day_text(found.short_from))
    if found.salt_short_from:
        text += _("; salt will not do from {day}").format(day=day_text(found.salt_short_from))
    return text


def day_text(one: Day) -> str:
    return f"{weekday(one.day)} {one.day.day} {month(one.day)}"


def _bar(one: Day) -> Bar:
    return Bar(
        f"{weekday(one.day)} {one.day.day}",
        float(one.litres - one.to_mix_l),
        float(one.to_mix_l),
    )


def _days(found: Needs, at: Here) -> Table:
    unit = at.units.of("volume").words
    return Table(
        _("What each day needs"),
        (
            _("Day"),
            _("For"),
            _("Water, {unit}").format(unit=unit),
            _("Salt in it"),
            _("To mix, {unit}").format(unit=unit),
        ),
        [
            (
                label(day_text(one)),
                _fills(one, at),
                number(at.units, "volume", one.litres),
                mass(at.units, one.salt_kg),
                number(at.units, "volume", one.to_mix_l),
            )
            for one in found.days
        ],
        numeric=frozenset({2, 3, 4}),
    )


def _fills(one: Day, at: Here) -> str:
    fills = [
        _("{fill} into {where}, {litres}").format(
            fill=fill.code,
            where=fill.target or _("a container"),
            litres=litres(at.units, fill.litres),
        )
        for fill in one.fills
    ]
    if one.changes_l:
        fills.append(
            _("water changes as in the last week, {litres}").format(
                litres=litres(at.units, one.changes_l)
            )
        )
    return "; ".join(fills) or _("nothing")


def _recipes(found: NeedsSeen, at: Here) -> Table:
    """One make for each day that what stands does not cover."""
    rows = [
        (
            label(day_text(one)),
            when(one.mix_by and one.mix_by.replace(second=0), at.zone),
            litres(at.units, one.to_mix_l),
            mass(at.units, one.to_mix_kg),
            salinity(at.units, one.water.salinity) + ("" if one.water.read else _(", planned")),
            degrees(at.units, one.water.temperature_c),
            _left(one, at),
        )
        for one in found.needs.days
        if one.to_mix_l
    ]
    return Table(
        _("Recipes"),
        (
            _("For"),
            _("Mixing by"),
            _("Water"),
            _("Salt"),
            _("Salinity"),
            _("Temperature"),
            _("Salt left then"),
        ),
        rows,
        empty=_("What stands is enough."),
    )


def _left(one: Day, at: Here) -> str:
    if one.salt_left_kg is None:
        return _("not known")
    kilos = round(abs(one.salt_left_kg), 3).normalize()
    return mass(at.units, kilos) + (_(" short") if one.salt_short else "")


def _makes(makes: list[MakeSeen], found: NeedsSeen, at: Here) -> Table:
    wanted = next((one.water for one in found.needs.days if one.fills), None)
    return Table(
        _("Makes that stand"),
        (
            _("Vat"),
            _("Made"),
            _("Left"),
            _("Mixed for"),
            _("Salinity"),
            _("Temperature"),
            _("Fit for fish?"),
        ),
        [_make(one, wanted, found.products, at) for one in makes],
        empty=_("No make was told yet."),
    )


def _make(
    one: MakeSeen, wanted: Water | None, products: Products, at: Here
) -> tuple[object, ...]:
    now = one.standing
    more = bring_to(now, wanted, products.salt) if wanted else ""
    return (
        link(one.row.vat, "make", one.row.uid),
        when(one.row.made_at, at.zone),
        _("{number} of {litres}").format(
            number=number(at.units, "volume", max(now.left_l, Decimal(0))),
            litres=litres(at.units, one.row.volume_l),
        ),
        mixed_words(one),
        salinity(at.units, now.salinity),
        degrees(at.units, now.temperature_c),
        f"{fit_words(one)} {more}".strip(),
    )


def mixed_words(one: MakeSeen) -> str:
    """Hours and minutes; seconds are nobody's concern here."""
    return f"{elapsed_text(one.standing.mixed // MINUTE * MINUTE)} h"


def fit_words(one: MakeSeen) -> str:
    return " ".join(spoken(reason.text) for reason in one.fit) or _("Yes.")


def _baths(found: tuple[BathToMake, ...]) -> Table:
    return Table(
        _("Baths to be made"),
        (_("In"), _("Bath")),
        [
            (label(one.what), _sentence(one.amount.text if one.amount else NO_BLEACH))
            for one in found
        ],
        empty=_("Nothing is to be disinfected now."),
    )


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _products(lots: list[LotSeen], products: Products, at: Here) -> Table:
    rows: list[tuple[object, ...]] = [
        (
            one.row.label,
            f"{one.row.product}, {_lot_known(one, at)}",
            _kilos(one, at),
            _("in use") if one.row.label == products.salt.label else "",
        )
        for one in lots
        if one.row.in_use
    ]
    if products.bleach is not None:
        rows.append((products.bleach.label, strength_text(products.bleach), "", _("in use")))
    return Table(
        _("Salt and bleach"),
        (_("Label"), _("What it is"), _("Left"), ""),
        rows,
        empty=_("No salt lot and no bleach is set up: a dry fraction of 0.90 is assumed."),
    )


def _lot_known(one: LotSeen, at: Here) -> str:
    known = _("dry fraction {dry_fraction}, {dry_fraction_from}").format(
        dry_fraction=one.row.dry_fraction, dry_fraction_from=plain(one.row.dry_fraction_from)
    )
    return f"{known} {_day(one.row.measured_at, at)}".strip()


def _day(moment: datetime | None, at: Here) -> str:
    if moment is None:
        return ""
    local = moment.astimezone(at.zone)
    return f"{local:%d} {month(local)} {local.year}"


def _kilos(one: LotSeen, at: Here) -> str:
    if one.left_kg is None:
        return _("not told")
    about = _("about ") if one.reckoned else ""
    return about + mass(at.units, round(one.left_kg, 2).normalize())
