"""Makes of water as they are known: told, checked, corrected."""

from collections.abc import Iterable
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.filled import DRAWS, MakeKnown
from protocols.makes import Make, MakeChecked
from protocols.order import happenings
from protocols.uids import as_uid
from protocols.values import Happening, RulesHistory
from stock.judging.facts import facts_about
from stock.judging.words import words_about

# How late a make was told changes nothing about it.
NO_RULES = RulesHistory(())
NEVER = datetime.max.replace(tzinfo=UTC)
KINDS = ("water_made", "make_checked")


def makes_named(told: Iterable[Happening]) -> set[UUID]:
    """The makes that draws among these happenings name."""
    return {
        as_uid(one.body["make"]) for one in told if one.kind in DRAWS and "make" in one.body
    }


def makes_known(uids: set[UUID], *, known_by: int | None = None) -> dict[UUID, MakeKnown]:
    """These makes as known at a ledger position. Three queries at most, none for none.

    Where a time is uncertain the later one counts: mixed for the shorter time.
    """
    if not uids:
        return {}
    facts = facts_about(uids, kinds=KINDS, known_by=known_by, parked=False)
    told = {fact.uid: fact for found in facts.values() for fact in found}
    words = words_about(told, known_by=known_by)
    folded = list(happenings([*told.values(), *words], at=NEVER, rules=NO_RULES))
    checks: dict[UUID, list[MakeChecked]] = {}
    for one in folded:
        if one.kind == "make_checked":
            checks.setdefault(as_uid(one.body["make"]), []).append(_checked(one))
    made = [_make(one) for one in folded if one.kind == "water_made"]
    return {one.uid: MakeKnown(one, tuple(checks.get(one.uid, ()))) for one in made}


def _make(one: Happening) -> Make:
    body, at = one.body, one.when.latest
    return Make(
        uid=as_uid(body["make"]),
        vat=body["vat"],
        volume_l=Decimal(body["volume_l"]),
        salinity=Decimal(body["salinity"]),
        temperature_c=Decimal(body["temperature_c"]),
        total_chlorine_mg_l=Decimal(body["total_chlorine_mg_l"]),
        made_at=at,
        mixed_at=_moment(body.get("mixed_at")) or at,
        aerated_since=_moment(body.get("aerated_since")),
    )


def _checked(one: Happening) -> MakeChecked:
    def number(name: str) -> Decimal | None:
        return Decimal(one.body[name]) if name in one.body else None

    return MakeChecked(
        one.when.latest,
        number("volume_l"),
        number("salinity"),
        number("temperature_c"),
        number("total_chlorine_mg_l"),
    )


def _moment(text: Any) -> datetime | None:
    return None if text is None else parse_utc(str(text))
