"""The stocking answer as programs read it: numbers with a fraction as text, planning said."""

from typing import Any

from protocols.stocking_answer import Answer
from protocols.stocking_forecast import Conditions
from protocols.stocking_plan import Sized, Stocked, outcome
from protocols.values import Reason

PLANNING = (
    "Planning values: ammonia as a daily mean without any filter, oxygen with a planned "
    "exchange with the air. Weights from lengths are off by so many percent as stands there."
)


def stocking_told(found: Stocked) -> dict[str, Any]:
    """What the answer of a placement or move says: the outcome, and warnings beside it."""
    return {
        "stocking": shown_stocking(found, curve=False),
        "warnings": [shown_warning(one) for one in found.warnings],
    }


def shown_stocking(found: Stocked, *, curve: bool = True) -> dict[str, Any]:
    """Everything about one container; `curve` with the forecast by the hour."""
    shown: dict[str, Any] = {
        "container": str(found.vessel.uid),
        "container_label": found.vessel.label,
        "volume_l": str(found.vessel.volume_l),
        "hours": f"{found.plan.hours:g}",
        "text": outcome(found),
        "planning": PLANNING,
        "missing": found.missing,
        "kinds": [_kind(one) for one in found.kinds],
        "water": _water(found.water),
        "cautions": [
            {"what": one.what, "text": one.text, "warns": one.warns} for one in found.cautions
        ],
    }
    said = found.answer
    if said is None:
        return {**shown, "fits": None, "most": None, "binds": None}
    shown |= {"fits": said.fits, **_answer(said)}
    if curve:
        shown["curve"] = [
            {
                "hour": f"{one.hour:g}",
                "tan_mg_l": f"{one.tan_mg_l:.3f}",
                "nh3_n_mg_l": f"{one.nh3_n_mg_l:.4f}",
            }
            for one in said.curve
        ]
    return shown


def shown_warning(one: Reason) -> dict[str, Any]:
    return {
        "code": one.code,
        "rule": one.rule,
        "text": one.text,
        "blocks": one.blocks,
        "numbers": dict(one.numbers),
        "pointer": one.pointer,
    }


def _answer(said: Answer) -> dict[str, Any]:
    highest, after = said.highest, said.alarm_after_h
    return {
        "asked": said.asked,
        "most": said.most,
        "binds": None if said.binds is None else str(said.binds),
        "nh3_n_mg_l": f"{highest.nh3_n_mg_l:.3f}",
        "tan_mg_l": f"{highest.tan_mg_l:.2f}",
        "highest_after_h": f"{highest.hour:g}",
        "alarm_mg_l": f"{said.alarm_mg_l:g}",
        "alarm_after_h": None if after is None else f"{after:.1f}",
        "oxygen": {
            "saturation_mg_l": f"{said.oxygen.saturation_mg_l:.2f}",
            "expected_mg_l": f"{said.oxygen.expected_mg_l:.2f}",
            "percent": f"{said.oxygen.percent:.0f}",
            "demand_mg_h": f"{said.oxygen.demand_mg_h:.0f}",
            "without_air_h": _or_none(said.oxygen.without_air_h),
        },
        "ways": [
            {"kind": one.kind, "text": one.text, "numbers": dict(one.numbers)}
            for one in said.ways
        ],
    }


def _kind(one: Sized) -> dict[str, Any]:
    animals = one.animals
    shown: dict[str, Any] = {
        "species": one.kind.name,
        "count": one.kind.count,
        "group": one.values.group,
        "length_cm": _or_none(one.kind.length_cm),
        "length_from": one.kind.length_from,
        "handling": sorted(str(minded) for minded in one.minded),
        "shelters": one.shelters,
        "own_values": one.values.own,
        "mass_error_percent": round(100 * one.values.mass_error),
    }
    if animals is None:
        return {**shown, "mass_g": None, "feed_percent_day": None}
    return {
        **shown,
        "mass_g": f"{animals.mass_g:.2f}",
        "feed_percent_day": f"{animals.feed_percent_day:g}",
        "protein_fraction": f"{animals.protein_fraction:g}",
    }


def _water(water: Conditions) -> dict[str, Any]:
    return {
        "temperature_c": f"{water.temperature_c:g}",
        "salinity": f"{water.salinity:g}",
        "ph": f"{water.ph:g}",
        "ph_scale": water.ph_scale,
        "tan_mg_l": f"{water.tan_mg_l:g}",
        "altitude_m": f"{water.altitude_m:g}",
        "assumed": list(water.assumed),
    }


def _or_none(value: float | None) -> str | None:
    return None if value is None else f"{value:.1f}"
