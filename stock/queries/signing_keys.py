"""Public keys as the record books know them. There are few, so they are read from the facts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import Fact

KEY_SET = "signing_key_set"


@dataclass(frozen=True, slots=True)
class Known:
    """A key as the record books know it, and since when it is in this state."""

    kid: str
    state: str
    since: datetime
    jwk: Mapping[str, Any] | None


def states_of_keys(organisation: UUID, purpose: str) -> dict[str, str]:
    """The newest state of each key of an organisation, by its kid. One query."""
    told = Fact.objects.filter(log=organisation, kind=KEY_SET).order_by("seq")
    return {
        body["kid"]: body["state"]
        for body in told.values_list("body", flat=True)
        if body["purpose"] == purpose
    }


def is_compromised(organisation: UUID, kid: str, purpose: str = "certificate") -> bool:
    """Whether a key is in other hands, so that its signature proves nothing. One query."""
    return states_of_keys(organisation, purpose).get(kid) == "compromised"


def known_keys(purpose: str) -> dict[str, Known]:
    """Every key that a record book knows, by its kid, oldest first. One query.

    One organisation that calls it compromised is enough: all are signed for with the same.
    """
    found: dict[str, Known] = {}
    for at, body in _told(purpose):
        was = found.get(body["kid"])
        jwk = body.get("jwk") or (was.jwk if was is not None else None)
        if was is not None and was.state in ("compromised", body["state"]):
            found[was.kid] = Known(was.kid, was.state, was.since, jwk)
        else:
            found[body["kid"]] = Known(body["kid"], body["state"], at, jwk)
    return found


def _told(purpose: str) -> Iterator[tuple[datetime, Mapping[str, Any]]]:
    rows = Fact.objects.filter(kind=KEY_SET).order_by("recorded_at", "log", "seq")
    for at, body in rows.values_list("recorded_at", "body"):
        if body["purpose"] == purpose:
            yield at, body
