#!/usr/bin/env python3
"""Checks a quarantine certificate without trust in the machine that shows it.

    python3 check-certificate.py https://shop.example/c/…             asks the seller's service
    python3 check-certificate.py certificate.jwt --keys jwks.json     without network

Needs Python 3.9 or newer and the package `cryptography`. With an address: the signed text, the
keys, both status lists, each with its signature. With a file: the signature alone, and when it
was signed; whether it still stands, no file can say. Ends with 0 if all of it fits, else 1.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import json
import sys
import urllib.request
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

Fetch = Callable[[str], bytes]
Keys = dict[str, Ed25519PublicKey]
ALGORITHMS = ("EdDSA", "Ed25519")
MOST_BYTES = 4_000_000


class Wrong(Exception):
    """What does not fit."""


def need(true: object, says: str) -> None:
    if not true:
        raise Wrong(says)


def unbase64(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def read_keys(data: bytes) -> Keys:
    """Public keys by their fingerprint (RFC 7638), which nobody can choose."""
    found = {}
    for one in json.loads(data)["keys"]:
        named = {name: one[name] for name in ("crv", "kty", "x")}
        said = json.dumps(named, separators=(",", ":")).encode()
        kid = base64.urlsafe_b64encode(hashlib.sha256(said).digest()).decode().rstrip("=")
        need(one["kid"] == kid, f"the key {one['kid']} has another fingerprint")
        found[kid] = Ed25519PublicKey.from_public_bytes(unbase64(one["x"]))
    return found


def signed(token: bytes, keys: Keys, what: str) -> dict[str, Any]:
    """What a compact JWS says, if one of the keys signed it."""
    head, body, signature = token.decode("ascii").strip().split(".")
    header = json.loads(unbase64(head))
    need(header["alg"] in ALGORITHMS and header["typ"] == "vc+jwt", f"{what} is another type")
    need("crit" not in header, f"{what} asks for what is not known here")
    need(header["kid"] in keys, f"{what} is signed by a key that the seller does not publish")
    try:
        keys[header["kid"]].verify(unbase64(signature), f"{head}.{body}".encode())
    except InvalidSignature as error:
        raise Wrong(f"the signature of {what} does not fit") from error
    return dict(json.loads(unbase64(body)))


def is_set(entry: dict[str, str], keys: Keys, home: str, fetch: Fetch) -> bool:
    """The certificate's own bit in a list that the seller signed."""
    purpose, address = entry["statusPurpose"], entry["statusListCredential"]
    need(address.startswith(home + "/"), f"the list for {purpose} is somebody else's")
    listed = signed(fetch(address), keys, f"the list for {purpose}")
    said = listed["credentialSubject"]
    need(
        listed["id"] == address and said["statusPurpose"] == purpose,
        f"the list for {purpose} is another one",
    )
    packed = unbase64(said["encodedList"][1:])
    bits = zlib.decompressobj(wbits=31).decompress(packed, MOST_BYTES)
    index = int(entry["statusListIndex"])
    need(0 <= index < 8 * len(bits), f"the list for {purpose} is too short")
    return bool(bits[index >> 3] >> (7 - index % 8) & 1)


def about(credential: dict[str, Any]) -> Iterator[str]:
    said = credential["credentialSubject"]["quarantine"]
    names = ", ".join(one["scientific_name"] for one in said["species"])
    yield f"ok    signed: {said['number']}, {said['counts']['certified']} of {names}"
    yield f"      by {said['declared_by']['organisation']}, from {credential['validFrom']}"
    if said["test"]:
        yield "      TEST, not for real animals"
    yield f"      not covered: {', '.join(said['not_covered'])}"


def check_address(address: str, fetch: Fetch) -> Iterator[str]:
    """Line by line what was found; raises Wrong at what does not fit."""
    parts = urlsplit(address)
    home = f"{parts.scheme}://{parts.netloc}".lower()
    plain = f"{home}{parts.path}".lower()
    keys = read_keys(fetch(f"{home}/.well-known/jwks.json"))
    credential = signed(fetch(f"{plain}?format=jwt"), keys, "the certificate")
    need(credential["id"].lower() == plain, "it is the text of another certificate")
    yield from about(credential)
    entries = {one["statusPurpose"]: one for one in credential["credentialStatus"]}
    need(entries.keys() == {"revocation", "suspension"}, "it names other lists")
    words = {"revocation": "withdrawn", "suspension": "suspended"}
    stands = True
    for purpose, word in words.items():
        found = is_set(entries[purpose], keys, home, fetch)
        stands = stands and not found
        yield f"NO    it is {word}" if found else f"ok    it is not {word}"
    now = json.loads(fetch(f"{plain}?format=json"))["now"]
    yield f"      the seller says at {now['as_of']}: {now['state']}, {now['count']} animals"
    if not stands or now["state"] not in ("valid", "partly") or now["being_checked"]:
        raise Wrong("do not rely on it now")


def check_file(token: bytes, keys: bytes) -> Iterator[str]:
    """The signature alone: a file cannot say whether it still stands."""
    credential = signed(token, read_keys(keys), "the certificate")
    yield from about(credential)
    yield f"      not asked whether it still stands today: open {credential['id']}"


def fetched(address: str) -> bytes:
    need(address.startswith(("https://", "http://")), f"{address} is no address")
    with urllib.request.urlopen(address, timeout=20) as answer:  # noqa: S310  http or https
        return bytes(answer.read(MOST_BYTES))


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Checks a quarantine certificate.")
    parser.add_argument("certificate", help="its https address, or a file with the signed text")
    parser.add_argument("--keys", type=Path, help="a file with the seller's keys, for a file")
    given = parser.parse_args(arguments)
    is_address = given.certificate.lower().startswith(("https://", "http://"))
    if not is_address and given.keys is None:
        parser.error("a file needs --keys, a copy of /.well-known/jwks.json of the seller")
    try:
        lines = (
            check_address(given.certificate, fetched)
            if is_address
            else check_file(Path(given.certificate).read_bytes(), given.keys.read_bytes())
        )
        for line in lines:
            tell(line)
    except Wrong as wrong:
        tell(f"WRONG {wrong}")
        return 1
    except (OSError, ValueError, KeyError, TypeError, zlib.error) as error:
        tell(f"WRONG it cannot be read: {type(error).__name__}: {error}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
