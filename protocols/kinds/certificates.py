"""Kinds about animals that leave, and what is certified of them."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank, of_organisation

KEY_PURPOSES = ("certificate", "checkpoint", "webhook")
KEY: Mapping[str, Shape] = {
    "kid": "label",
    "purpose": KEY_PURPOSES,
    "state": ("planned", "active", "retired", "compromised"),
    "jwk?": "object",
}
DISPATCHED: Mapping[str, Shape] = {
    "dispatch": "uid",
    "batch": "uid",
    "count": "positive",
    "certificate?": "uid",
    "buyer?": "uid",
    "site?": "uid",
}
# `root` is the ledger's root at `tree_size`, before this entry, and `token_sha256` the digest
# of the signed text.
ISSUED: Mapping[str, Shape] = {
    "certificate": "uid",
    "number": "label",
    "batch": "uid",
    "count": "positive",
    "token_sha256": "sha256",
    "tree_size": "count",
    "root": "sha256",
    "status_indexes": {"revocation": "count", "suspension": "count"},
}
# The key that signed it fell into other hands: the same number and content under another key.
SIGNED_ANEW: Mapping[str, Shape] = {
    "certificate": "uid",
    "batch": "uid",
    "kid": "label",
    "was_sha256": "sha256",
    "token_sha256": "sha256",
}
CHANGED = Kind(
    Rank.CERTIFIED,
    {
        "certificate": "uid",
        "batch": "uid",
        "count?": "count",
        "cause": "text",
        "by?": "uid",
        # The service did it, because of what `by` names; no person's word.
        "by_rule?": "flag",
    },
)

CERTIFICATES: Mapping[str, Kind] = {
    "signing_key_set": of_organisation(KEY),
    "reserved": Kind(
        Rank.LEFT,
        {"batch": "uid", "count": "positive", "buyer?": "uid", "until": "time"},
    ),
    "reservation_ended": Kind(Rank.LEFT, {"reservation": "uid", "why": "text"}),
    "animals_dispatched": Kind(Rank.LEFT, DISPATCHED),
    "animals_returned": Kind(
        Rank.LEFT, {"dispatch": "uid", "count": "positive", "state": "text"}
    ),
    # Sealed before it is issued, also within one second: the certificate names the head.
    "batch_sealed": Kind(
        Rank.SEALED, {"batch": "uid", "entries": "positive", "head": "sha256"}
    ),
    "certificate_issued": Kind(Rank.CERTIFIED, ISSUED),
    "certificate_signed_anew": Kind(Rank.CERTIFIED, SIGNED_ANEW),
    "certificate_suspended": CHANGED,
    "certificate_lifted": CHANGED,
    "certificate_superseded": CHANGED,
    "certificate_revoked": CHANGED,
    "certificate_ended": CHANGED,
}
