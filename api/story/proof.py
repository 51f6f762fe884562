"""Checking a certificate as a stranger would: published keys, one library, no trust."""

import base64
import gzip
import json
from collections.abc import Mapping
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from api.story.client import Service, Stopped

CREDENTIAL = "application/vc+jwt"


def checked(service: Service, address: str) -> dict[str, Any]:
    """The payload of the token at an address, if a key that is published there signed it."""
    token = service.text(address, CREDENTIAL)
    head, payload, signature = token.split(".")
    keys = json.loads(service.text("/.well-known/jwks.json", "application/json"))["keys"]
    kid = json.loads(_raw(head))["kid"]
    public = next((one for one in keys if one["kid"] == kid), None)
    if public is None:
        raise Stopped(f"No published key is named {kid}.")
    try:
        key = Ed25519PublicKey.from_public_bytes(_raw(public["x"]))
        key.verify(_raw(signature), f"{head}.{payload}".encode())
    except InvalidSignature as error:
        raise Stopped("The signature does not fit the text.") from error
    return dict(json.loads(_raw(payload)))


def is_set(service: Service, credential: Mapping[str, Any], purpose: str) -> bool:
    """Whether the certificate's own place is set in the list of this purpose that it names."""
    (entry,) = [
        one for one in credential["credentialStatus"] if one["statusPurpose"] == purpose
    ]
    listed = checked(service, entry["statusListCredential"])
    bits = gzip.decompress(_raw(listed["credentialSubject"]["encodedList"][1:]))
    index = int(entry["statusListIndex"])
    return bool(bits[index // 8] >> (7 - index % 8) & 1)


def _raw(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
