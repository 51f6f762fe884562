"""A certificate as W3C Verifiable Credential 2.0 in a compact JWS (VC-JOSE-COSE).

What is signed is written once: `payload` decides what a buyer sees for ever. It names
no member of staff, no supplier and no price.
"""

import base64
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

import rfc8785

from protocols.clocks import utc_text
from protocols.values import Protocol, Verdict

VC_CONTEXT = "https://www.w3.org/ns/credentials/v2"
TYPE = "QuarantineRecordCredential"
STATEMENT = (
    "This is the seller's own signed record of what was done. "
    "It is not an official health certificate."
)


@dataclass(frozen=True, slots=True)
class Issuer:
    """The organisation that signs: its public https address and its name."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class CertifiedSpecies:
    name: str
    scientific_name: str
    count: int
    aphia_id: int | None = None


@dataclass(frozen=True, slots=True)
class CertifiedMove:
    """One move of the batch's whole history, those of ended series too."""

    at: datetime
    verdict: Verdict
    restarted: bool


@dataclass(frozen=True, slots=True)
class Treatment:
    at: datetime
    product: str
    dose: str


@dataclass(frozen=True, slots=True)
class Sealed:
    """Where the record book stood: root of `tree_size` entries, and the batch's own head."""

    origin: str
    tree_size: int
    root: bytes
    batch_head: bytes
    batch_entries: int


@dataclass(frozen=True, slots=True)
class StatusIndex:
    """A place in a status list; the purpose is `revocation` or `suspension`."""

    purpose: str
    list_url: str
    index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Certified:
    """All that a certificate says. Counts are animals; moments are UTC."""

    uid: UUID
    batch: UUID
    number: str
    url: str
    context_url: str
    issuer: Issuer
    valid_from: datetime
    zone: str
    species: tuple[CertifiedSpecies, ...]
    received: int
    doa: int
    placed: int
    losses: Mapping[str, int]
    certified: int
    arrived_on: date
    moves: tuple[CertifiedMove, ...]
    series_started: datetime
    series_completed: datetime
    observed_from: datetime
    observed_until: datetime
    protocol: Protocol
    declared_by_role: str
    ledger: Sealed
    status: tuple[StatusIndex, ...]
    treatments: tuple[Treatment, ...] = ()
    remarks: tuple[str, ...] = ()
    adds: str = ""  # the seller's own words, which nothing on record stands against
    test: bool = False


def payload(certified: Certified) -> dict[str, Any]:
    """The credential itself: what is signed, as plain JSON values."""
    mark = "TEST - " if certified.test else ""
    return {
        "@context": [VC_CONTEXT, certified.context_url],
        "id": certified.url,
        "type": ["VerifiableCredential", TYPE],
        "name": f"{mark}Quarantine record {certified.number}",
        "description": STATEMENT,
        "issuer": {"id": certified.issuer.id, "name": certified.issuer.name},
        "validFrom": utc_text(certified.valid_from),
        "credentialSubject": {
            "id": f"urn:uuid:{certified.batch}",
            "quarantine": _quarantine(certified),
        },
        "credentialStatus": [_status(one) for one in certified.status],
        "relatedResource": [
            {"id": certified.context_url, "digestSRI": _digest_sri(certified.context_url)}
        ],
    }


def context_bytes(context_url: str) -> bytes:
    """The JSON-LD context to serve under `context_url`, for ever the same bytes.

    Our own part is one JSON value: lists keep their order, and later fields need no
    other context.
    """
    terms: dict[str, Any] = {
        "@version": 1.1,
        "@protected": True,
        TYPE: f"{context_url}#{TYPE}",
        "quarantine": {"@id": f"{context_url}#quarantine", "@type": "@json"},
    }
    return rfc8785.dumps({"@context": terms})


def _digest_sri(context_url: str) -> str:
    digest = hashlib.sha256(context_bytes(context_url)).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def _quarantine(certified: Certified) -> dict[str, Any]:
    return {
        "certificate": str(certified.uid),
        "number": certified.number,
        "test": certified.test,
        "statement": STATEMENT,
        "declared_by": {
            "organisation": certified.issuer.name,
            "role": certified.declared_by_role,
        },
        "species": [_species(one) for one in certified.species],
        "counts": _counts(certified),
        "arrived_on": certified.arrived_on.isoformat(),
        "zone": certified.zone,
        **_done(certified),
        **_protocol(certified.protocol),
        "remarks": list(certified.remarks),
        **({"seller_adds": certified.adds} if certified.adds else {}),
        "ledger": _ledger(certified.ledger),
    }


def _species(one: CertifiedSpecies) -> dict[str, Any]:
    said = {"name": one.name, "scientific_name": one.scientific_name, "count": one.count}
    if one.aphia_id is None:
        return said
    return {**said, "scientific_name_id": f"urn:lsid:marinespecies.org:taxname:{one.aphia_id}"}


def _counts(certified: Certified) -> dict[str, Any]:
    return {
        "received": certified.received,
        "doa": certified.doa,
        "placed": certified.placed,
        "losses": dict(certified.losses),
        "certified": certified.certified,
    }


def _done(certified: Certified) -> dict[str, Any]:
    return {
        "series": {
            "started_at": utc_text(certified.series_started),
            "completed_at": utc_text(certified.series_completed),
        },
        "moves": [
            {"at": utc_text(one.at), "verdict": one.verdict.value, "restarted": one.restarted}
            for one in certified.moves
        ],
        "observation": {
            "started_at": utc_text(certified.observed_from),
            "ended_at": utc_text(certified.observed_until),
        },
        "treatments": [
            {"at": utc_text(one.at), "product": one.product, "dose": one.dose}
            for one in certified.treatments
        ],
    }


def _protocol(protocol: Protocol) -> dict[str, Any]:
    return {
        "protocol": {
            "name": protocol.name,
            "version": protocol.version,
            "sha256": protocol.sha256,
            "stay_limit_s": int(protocol.stay_limit.total_seconds()),
            "moves_least": protocol.moves_least,
            "span_least_s": int(protocol.span_least.total_seconds()),
            "drying_s": int(protocol.drying.drying.total_seconds()),
            "observation_s": int(protocol.observation.total_seconds()),
        },
        "addresses": list(protocol.addresses),
        "not_covered": list(protocol.does_not_cover),
    }


def _ledger(sealed: Sealed) -> dict[str, Any]:
    return {
        "origin": sealed.origin,
        "tree_size": sealed.tree_size,
        "root": sealed.root.hex(),
        "batch_head": sealed.batch_head.hex(),
        "batch_entries": sealed.batch_entries,
    }


def _status(one: StatusIndex) -> dict[str, str]:
    return {
        "id": f"{one.list_url}#{one.index}",
        "type": "BitstringStatusListEntry",
        "statusPurpose": one.purpose,
        "statusListIndex": str(one.index),
        "statusListCredential": one.list_url,
    }
