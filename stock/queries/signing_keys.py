"""Public keys as the record books know them. There are few, so they are read from the facts."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from stock.models import Fact


def states_of_keys(organisation: UUID, purpose: str) -> dict[str, str]:
    """The newest state of each key of an organisation, by its kid. One query."""
    told = Fact.objects.filter(log=organisation, kind="signing_key_set").order_by("seq")
    return {
        body["kid"]: body["state"]
        for body in told.values_list("body", flat=True)
        if body["purpose"] == purpose
    }


def public_keys(purpose: str) -> list[Mapping[str, Any]]:
    """The public halves of all keys that verifiers may need, each once. One query."""
    told = Fact.objects.filter(kind="signing_key_set").order_by("log", "seq")
    jwks: dict[str, Mapping[str, Any]] = {}
    states: dict[str, dict[UUID, str]] = {}
    for log, body in told.values_list("log", "body"):
        if body["purpose"] == purpose:
            states.setdefault(body["kid"], {})[log] = body["state"]
            jwks |= {body["kid"]: body["jwk"]} if body.get("jwk") else {}
    compromised = {kid for kid, found in states.items() if "compromised" in found.values()}
    return [jwk for kid, jwk in jwks.items() if kid not in compromised]
