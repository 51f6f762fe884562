"""What a certificate says today, as JSON: the frozen text, and beside it what is true now."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.public.jwks import JWKS_PATH
from protocols.clocks import local_text, parse_utc
from stock.queries.public import Gone, Held, PublicRecord, Step

FROZEN = (
    "number",
    "test",
    "statement",
    "declared_by",
    "species",
    "counts",
    "arrived_on",
    "zone",
    "series",
    "observation",
    "treatments",
    "protocol",
    "addresses",
    "not_covered",
    "remarks",
)


def said_now(record: PublicRecord, address: str) -> dict[str, Any]:
    """Row by row what programs read; `credential` is exactly what was signed."""
    frozen = record.quarantine
    return {
        "url": record.credential["id"],
        "now": now_of(record),
        **{name: frozen[name] for name in FROZEN},
        "seller_adds": frozen.get("seller_adds", ""),
        "moves": [_move(one, record) for one in frozen["moves"]],
        "losses": None if record.losses is None else [_gone(one) for one in record.losses],
        "origins": [dict(one) for one in record.origins],
        "water": [_held(one, record) for one in record.water],
        "since": [_step(one, record) for one in record.steps],
        "replaced_by": replacement(record, address),
        "proof": {
            "token": f"{record.credential['id']}?format=jwt",
            "keys": address + JWKS_PATH,
            "key": {"kid": record.kid, "compromised": record.key_compromised},
            "ledger": frozen["ledger"],
            "status": [
                one["statusListCredential"] for one in record.credential["credentialStatus"]
            ],
        },
        "credential": dict(record.credential),
    }


def now_of(record: PublicRecord) -> dict[str, Any]:
    """State and numbers as they are at `as_of`; `count` lives and is covered still."""
    worth = record.worth
    return {
        "state": worth.state.state,
        "being_checked": worth.is_being_checked,
        "count": worth.state.alive,
        "covered": worth.state.count,
        "left_the_seller": worth.left,
        **_timed("as_of", record.as_of, record),
        **_timed("last_change", worth.state.since, record),
    }


def replacement(record: PublicRecord, address: str) -> dict[str, str] | None:
    if record.replaced_by is None:
        return None
    number, code = record.replaced_by
    return {"number": number, "url": f"{address}/c/{code}"}


def _move(one: Mapping[str, Any], record: PublicRecord) -> dict[str, Any]:
    return {**one, "at_local": local_text(parse_utc(one["at"]), record.zone)}


def _gone(one: Gone) -> dict[str, Any]:
    return {"on": one.on.isoformat(), "fate": one.fate, "count": one.count}


def _held(one: Held, record: PublicRecord) -> dict[str, Any]:
    said = {"quantity": one.quantity, "value": one.value, "unit": one.unit}
    return {**said, **_timed("read_at", one.at, record)}


def _step(one: Step, record: PublicRecord) -> dict[str, Any]:
    return {**_timed("at", one.at, record), "state": one.state, "count": one.count}


def _timed(name: str, moment: datetime, record: PublicRecord) -> dict[str, Any]:
    return {name: moment, f"{name}_local": local_text(moment, record.zone)}
