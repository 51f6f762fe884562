"""Makes of water and salt as they stand at a moment."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols import makes
from protocols.makes import Drawn, MakeChecked, Standing, fit_for_fish, shown
from protocols.mixing import SaltUse, salt_left, salt_of_make
from protocols.values import Reason, Rules
from stock.models import Draw, Make, MakeCheck, SaltLot, SaltStock
from stock.queries.sites import rules_history
from stock.refusals import NotFound

# A make that is used up is shown for so long, for whoever looks what became of it.
STILL_SHOWN = timedelta(days=14)
MOST = 200


@dataclass(frozen=True, slots=True)
class MakeSeen:
    """A make as told, and as it stands."""

    row: Make
    standing: Standing
    draws: tuple[Draw, ...]
    fit: tuple[Reason, ...]


def makes_seen(site: UUID, at: datetime) -> list[MakeSeen]:
    """The makes of a site that stand at `at` or were used up lately, the newest first.

    Four queries.
    """
    rows = Make.objects.filter(site=site, made_at__lte=at).select_related("lot")
    found = _seen(list(rows.order_by("-made_at", "uid")[:MOST]), at, rules_history(site).at(at))
    return [one for one in found if _is_still_shown(one, at)]


def make_seen(uid: UUID, at: datetime) -> MakeSeen:
    """One make. Four queries."""
    row = Make.objects.select_related("lot").get(uid=uid)
    return _seen([row], at, rules_history(row.site_id).at(at))[0]


def make_head(uid: UUID) -> Make:
    """A make as it was told. One query. Raises NotFound."""
    found = Make.read(uid=uid)
    if found is None:
        raise NotFound
    return found


def standings(uids: Iterable[UUID], at: datetime) -> dict[UUID, Standing]:
    """How these makes stand at `at`. Three queries, none where none is named."""
    wanted = list(uids)
    if not wanted:
        return {}
    rows = list(Make.objects.filter(uid__in=wanted))
    return {one.row.uid: one.standing for one in _seen(rows, at, Rules())}


def shown_make(one: MakeSeen) -> dict[str, Any]:
    """A make for programs: as it was told, as it stands, and what stands against fish in it."""
    row, now = one.row, one.standing
    return {
        "uid": str(row.uid),
        "vat": row.vat,
        "lot": row.lot_id and str(row.lot_id),
        "salt_lot": row.salt_lot,
        "salt_kg": None if row.salt_kg is None else shown(row.salt_kg),
        "volume_l": shown(row.volume_l),
        "volume_basis": row.volume_basis,
        "made_at": row.made_at,
        "mixed_at": row.mixed_at,
        "aerated_since": row.aerated_since,
        "doer": str(row.doer),
        "mixed_s": now.mixed // makes.SECOND,
        "left_l": shown(now.left_l),
        "overdrawn_l": shown(now.overdrawn_l) if now.overdrawn_l else None,
        "salinity": shown(now.salinity),
        "temperature_c": shown(now.temperature_c),
        "total_chlorine_mg_l": shown(now.total_chlorine_mg_l),
        "fit_for_fish": not one.fit,
        "reasons": [shown_reason(reason) for reason in one.fit],
    }


def shown_reason(reason: Reason) -> dict[str, Any]:
    return {"code": reason.code, "text": reason.text, "numbers": dict(reason.numbers)}


def _seen(rows: Sequence[Make], at: datetime, rules: Rules) -> list[MakeSeen]:
    uids = [row.uid for row in rows]
    checks: dict[UUID, list[MakeChecked]] = {}
    for check in MakeCheck.objects.filter(make__in=uids, at__lte=at):
        checks.setdefault(check.make, []).append(checked(check))
    draws: dict[UUID, list[Draw]] = {}
    drawn = Draw.objects.filter(make__in=uids, at__lte=at).select_related("container")
    for draw in drawn.order_by("at", "fact"):
        draws.setdefault(draw.make, []).append(draw)
    return [_one(row, checks, draws, at, rules) for row in rows]


def _one(
    row: Make,
    checks: Mapping[UUID, Sequence[MakeChecked]],
    draws: Mapping[UUID, Sequence[Draw]],
    at: datetime,
    rules: Rules,
) -> MakeSeen:
    own = draws.get(row.uid, ())
    drawn = [Drawn(one.at, one.volume_l) for one in own]
    found = makes.standing(made(row), checks.get(row.uid, ()), drawn, at)
    return MakeSeen(row, found, tuple(own), fit_for_fish(found, rules))


def made(row: Make) -> makes.Make:
    return makes.Make(
        uid=row.uid,
        vat=row.vat,
        volume_l=row.volume_l,
        salinity=row.salinity,
        temperature_c=row.temperature_c,
        total_chlorine_mg_l=row.total_chlorine_mg_l,
        made_at=row.made_at,
        mixed_at=row.mixed_at,
        aerated_since=row.aerated_since,
    )


def checked(row: MakeCheck) -> MakeChecked:
    return MakeChecked(
        row.at, row.volume_l, row.salinity, row.temperature_c, row.total_chlorine_mg_l
    )


def _is_still_shown(one: MakeSeen, at: datetime) -> bool:
    lately = max([one.row.made_at, *(draw.at for draw in one.draws)]) >= at - STILL_SHOWN
    return lately or one.standing.left_l > one.standing.off_l


# -- Salt ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LotSeen:
    """A salt lot and how much of it is left; None where nobody told of any that came."""

    row: SaltLot
    left_kg: Decimal | None
    reckoned: bool  # some makes did not say what was weighed


def lots_seen(site: UUID, at: datetime) -> list[LotSeen]:
    """The salt lots of a site with what is left of them at `at`, by label. Three queries."""
    lots = list(SaltLot.objects.filter(site=site).order_by("label"))
    stock: dict[UUID, list[SaltStock]] = {}
    for row in SaltStock.objects.filter(lot__site=site, at__lte=at):
        stock.setdefault(row.lot_id, []).append(row)
    used: dict[UUID, list[SaltUse]] = {}
    rows = Make.objects.filter(site=site, lot__isnull=False, made_at__lte=at)
    for make in rows.select_related("lot"):
        assert make.lot is not None
        used.setdefault(make.lot.uid, []).append(_used(make, make.lot))
    return [_lot(lot, stock.get(lot.uid, ()), used.get(lot.uid, ())) for lot in lots]


def shown_lot(one: LotSeen) -> dict[str, Any]:
    row = one.row
    return {
        "uid": str(row.uid),
        "label": row.label,
        "product": row.product,
        "dry_fraction": row.dry_fraction,
        "dry_fraction_from": row.dry_fraction_from,
        "measured_at": row.measured_at,
        "in_use": row.in_use,
        "left_kg": None if one.left_kg is None else shown(one.left_kg),
        "reckoned": one.reckoned,
    }


def _used(make: Make, lot: SaltLot) -> SaltUse:
    """What was weighed; else what it must have taken, by the lot's dry fraction."""
    if make.salt_kg is not None:
        return SaltUse(make.made_at, make.salt_kg)
    try:
        reckoned = salt_of_make(
            volume_l=make.volume_l,
            salinity=make.salinity,
            temperature_c=make.temperature_c,
            dry_fraction=Decimal(lot.dry_fraction),
            volume_basis=make.volume_basis,
        )
    except ValueError:  # a figure that was corrected into one that cannot be
        reckoned = Decimal(0)
    return SaltUse(make.made_at, reckoned, reckoned=True)


def _lot(lot: SaltLot, stock: Sequence[SaltStock], used: Sequence[SaltUse]) -> LotSeen:
    received = [(row.at, row.mass_kg) for row in stock if row.what == "received"]
    counted = [(row.at, row.mass_kg) for row in stock if row.what == "counted"]
    return LotSeen(lot, salt_left(received, counted, used), any(one.reckoned for one in used))
