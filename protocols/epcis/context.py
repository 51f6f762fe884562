"""What our own terms in EPCIS events mean. Permanent: terms may be added, none may change."""

from typing import Any

import rfc8785

from protocols.epcis.form import CONTEXT_PATH, PREFIX

__all__ = ["CONTEXT_PATH", "TERMS", "epcis_context_bytes"]

# Addresses are marked as such; all others are plain values.
ADDRESSES = frozenset(
    {"hold", "kit", "make", "movementID", "odd", "parents", "replaces", "species"}
)
TERMS = (
    "affected",
    "agent",
    "amount",
    "bornHere",
    "boxes",
    "cause",
    "certificate",
    "cleaned",
    "countryOfOrigin",
    "deadOnArrival",
    "declaredQuantity",
    "estimated",
    "exactly",
    "expected",
    "food",
    "got",
    "grams",
    "hold",
    "kit",
    "lossReason",
    "lot",
    "make",
    "method",
    "movementID",
    "odd",
    "parameter",
    "parents",
    "phScale",
    "prescription",
    "product",
    "protocol",
    "replaces",
    "reportedAs",
    "reversalOf",
    "rinsed",
    "scientificName",
    "scientificNameID",
    "searched",
    "signs",
    "sourceType",
    "species",
    "standard",
    "temperatureCelsius",
    "unit",
    "until",
    "waybill",
    "what",
)


def epcis_context_bytes(context_url: str) -> bytes:
    """The JSON-LD context to serve under `context_url`, for ever the same bytes."""
    terms: dict[str, Any] = {"@version": 1.1, PREFIX: f"{context_url}#"}
    for name in TERMS:
        sort = {"@type": "@id"} if name in ADDRESSES else {}
        terms[f"{PREFIX}:{name}"] = {"@id": f"{context_url}#{name}", **sort}
    return rfc8785.dumps({"@context": terms})
