"""Whether a disinfection kills what it must: agent, measured strength, contact time."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from protocols.clocks import elapsed_text
from protocols.ruled import DryingRule, Reason, not_ready
from protocols.said import said

CHLORINE = frozenset({"chlorine", "bleach", "hypochlorite", "sodium hypochlorite"})


def disinfection_faults(body: Mapping[str, Any], rule: DryingRule) -> tuple[Reason, ...]:
    """Everything for which this disinfection does not count; empty if it does.

    Strength in mg/L of available chlorine, as measured, and contact time must each reach the
    protocol's least, which counts as enough.
    """
    faults = []
    if not body["cleaned"]:
        faults.append(not_ready("cleaned", "Dirt was not cleaned off first; it shields cysts."))
    if str(body["agent"]).strip().casefold() not in CHLORINE:
        text = said(
            "{agent} cleans, but only chlorine is known to disinfect here.", agent=body["agent"]
        )
        faults.append(not_ready("agent", text))
    else:
        faults += _strength_faults(body, rule)
    contact = _moment(body["ended_at"]) - _moment(body["started_at"])
    if contact < rule.contact_least:
        text = said(
            "Contact {contact}, needed {contact_least}.",
            contact=elapsed_text(contact),
            contact_least=elapsed_text(rule.contact_least),
        )
        seconds = {"contact_s": _seconds(contact), "needed_s": _seconds(rule.contact_least)}
        faults.append(not_ready("contact", text, **seconds))
    if not (body["rinsed"] or body.get("neutralised")):
        faults.append(not_ready("rinsed", "It was neither rinsed nor neutralised."))
    return tuple(faults)


def _strength_faults(body: Mapping[str, Any], rule: DryingRule) -> list[Reason]:
    least = rule.chlorine_mg_l_least
    if not body["measured"] or body.get("mg_per_l") is None:
        return [
            not_ready(
                "strength",
                said("The strength was not measured; {least} mg/L is needed.", least=least),
            )
        ]
    strength = Decimal(body["mg_per_l"])
    if strength >= least:
        return []
    text = said(
        "Chlorine {strength} mg/L, needed {least} mg/L.", strength=strength, least=least
    )
    return [not_ready("strength", text, mg_per_l=str(strength), least_mg_per_l=str(least))]


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _seconds(span: timedelta) -> int:
    return span // timedelta(seconds=1)
