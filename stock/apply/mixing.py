"""The mixing room: lots and bottles, salt that came or was counted, makes and what went where.

A row follows the words about its fact: a correction at once, a withdrawal once a second
person says so. Draws and checks name their make alone, so it may be told and taken back in
any order; what is left of it is reckoned when somebody asks.
"""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from stock.apply.kits import thing_here
from stock.apply.places import put
from stock.apply.registry import applies, moment
from stock.apply.words import amended, report_of
from stock.models import (
    Bleach,
    Container,
    Draw,
    Fact,
    Make,
    MakeCheck,
    SaltLot,
    SaltStock,
)
from stock.refusals import CannotApply, refuse

Body = Mapping[str, Any]


@applies("salt_lot_set")
def set_salt_lot(fact: Fact) -> None:
    body = fact.body
    put(
        SaltLot,
        fact,
        body["salt_lot"],
        site_id=fact.log_id,
        label=body["label"],
        product=body["product"],
        dry_fraction=body["dry_fraction"],
        dry_fraction_from=body["dry_fraction_from"],
        measured_how=body.get("measured_how"),
        measured_at=_moment(body, "measured_at"),
        in_use=body["in_use"],
    )


@applies("bleach_set")
def set_bleach(fact: Fact) -> None:
    body = fact.body
    opened = body.get("opened_on")
    put(
        Bleach,
        fact,
        body["bleach"],
        site_id=fact.log_id,
        label=body["label"],
        product=body["product"],
        strength_percent=body["strength_percent"],
        strength_basis=body["strength_basis"],
        density_g_ml=body.get("density_g_ml"),
        strength_from=body["strength_from"],
        measured_at=_moment(body, "measured_at"),
        opened_on=date.fromisoformat(opened) if opened else None,
        in_use=body["in_use"],
    )


@applies("salt_received", "salt_counted")
def weigh_salt(fact: Fact) -> None:
    _salt(fact, fact.body)


@applies("water_made")
def make_water(fact: Fact) -> None:
    _make(fact, fact.body)


@applies("make_checked")
def check_make(fact: Fact) -> None:
    _check(fact, fact.body)


@applies("filled", "water_changed", "topped_up")
def draw(fact: Fact) -> None:
    _draw(fact, fact.body)


def amend_mixing(note: Fact) -> None:
    """Follow a word about a make, a check of it, a draw, or salt."""
    kind = report_of(note).kind
    if kind not in ROWS:
        return
    change = amended(note)
    if change is None:
        return
    model, write = ROWS[kind]
    model._default_manager.filter(fact=change.report.uid).delete()
    if change.after is not None:
        write(change.report, change.after)


def _salt(fact: Fact, body: Body) -> None:
    SaltStock.objects.create(
        fact=fact.uid,
        lot=thing_here(fact, SaltLot, body["salt_lot"]),
        what=fact.kind.removeprefix("salt_"),
        mass_kg=Decimal(body["mass_kg"]),
        at=fact.performed_at,
    )


def _make(fact: Fact, body: Body) -> None:
    if Make.objects.filter(uid=body["make"]).exists():
        raise CannotApply(refuse("contradicts_record", "This make was told before."))
    Make.objects.create(
        uid=body["make"],
        version=fact.seq,
        fact=fact.uid,
        site_id=fact.log_id,
        vat=body["vat"],
        salt_lot=body["salt_lot"],
        lot=thing_here(fact, SaltLot, body["lot"]) if "lot" in body else None,
        salt_kg=_number(body, "salt_kg"),
        volume_l=Decimal(body["volume_l"]),
        volume_basis=body.get("volume_basis", "final"),
        salinity=Decimal(body["salinity"]),
        temperature_c=Decimal(body["temperature_c"]),
        total_chlorine_mg_l=Decimal(body["total_chlorine_mg_l"]),
        made_at=fact.performed_at,
        mixed_at=_moment(body, "mixed_at") or fact.performed_at,
        aerated_since=_moment(body, "aerated_since"),
        doer=fact.doer,
    )


def _check(fact: Fact, body: Body) -> None:
    MakeCheck.objects.create(
        fact=fact.uid,
        make=body["make"],
        at=fact.performed_at,
        volume_l=_number(body, "volume_l"),
        salinity=_number(body, "salinity"),
        temperature_c=_number(body, "temperature_c"),
        total_chlorine_mg_l=_number(body, "total_chlorine_mg_l"),
    )


def _draw(fact: Fact, body: Body) -> None:
    """Fresh water that tops up what has evaporated comes from no make."""
    container = thing_here(fact, Container, body["container"])
    if "make" in body:
        Draw.objects.create(
            fact=fact.uid,
            make=body["make"],
            container=container,
            what=fact.kind,
            volume_l=Decimal(body["volume_l"]),
            at=fact.performed_at,
        )


Row = type[SaltStock] | type[Make] | type[MakeCheck] | type[Draw]
ROWS: Mapping[str, tuple[Row, Callable[[Fact, Body], None]]] = {
    "salt_received": (SaltStock, _salt),
    "salt_counted": (SaltStock, _salt),
    "water_made": (Make, _make),
    "make_checked": (MakeCheck, _check),
    "filled": (Draw, _draw),
    "water_changed": (Draw, _draw),
    "topped_up": (Draw, _draw),
}


def _number(body: Body, name: str) -> Decimal | None:
    """A figure that may not have been told."""
    return Decimal(body[name]) if name in body else None


def _moment(body: Body, name: str) -> Any:
    return moment(body[name]) if name in body else None
