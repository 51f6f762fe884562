"""Signing keys, and the compact JWS around a credential or a status list."""

import base64
import json
from collections.abc import Iterator, Mapping
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from joserfc import jws
from joserfc.errors import JoseError, UnsupportedAlgorithmError
from joserfc.jwk import OKPKey

# Two names for one thing: RFC 8037, which today's verifiers know, and RFC 9864.
ALGORITHMS = ("EdDSA", "Ed25519")
TOKEN_SIZE_MAX = 65_536
BAG_TYPE = "audit-bag+jwt"


class CredentialRefused(ValueError):
    """The token is not in the form of a credential, or not signed by a key of the issuer."""


class _Registry(jws.JWSRegistry):
    """The two names of Ed25519, without the warning that the older one is old."""

    def get_alg(self, name: str) -> Any:
        if name not in ALGORITHMS:
            raise UnsupportedAlgorithmError(f"{name} is not accepted")
        return self.algorithms[name]


_REGISTRY = _Registry(strict_check_header=False)


def new_key() -> Ed25519PrivateKey:
    """A fresh signing key, from the randomness of the operating system."""
    return Ed25519PrivateKey.generate()


def key_bytes(key: Ed25519PrivateKey) -> bytes:
    """The key as unencrypted PKCS #8 PEM; the file must be readable by its owner only."""
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def load_key(pem: bytes) -> Ed25519PrivateKey:
    """Back from `key_bytes`; raises ValueError for anything but an Ed25519 key."""
    try:
        key = load_pem_private_key(pem, password=None)
    except TypeError as error:
        raise ValueError("the key is encrypted") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise ValueError("not an Ed25519 key")
    return key


def public_jwk(key: Ed25519PrivateKey | Ed25519PublicKey) -> dict[str, str]:
    """The public half as JWK. It has no `alg`: either name of the algorithm would exclude one.

    `kid` is the thumbprint of RFC 7638.
    """
    public = key.public_key() if isinstance(key, Ed25519PrivateKey) else key
    x = _base64url(public.public_bytes_raw())
    return {"kty": "OKP", "crv": "Ed25519", "x": x, "kid": key_id(public), "use": "sig"}


def public_key(jwk: Mapping[str, Any]) -> Ed25519PublicKey:
    """Back from `public_jwk`. Raises ValueError for what is no Ed25519 key."""
    x = str(jwk["x"])
    raw = base64.urlsafe_b64decode(x + "=" * (-len(x) % 4))
    return Ed25519PublicKey.from_public_bytes(raw)


def key_id(key: Ed25519PublicKey) -> str:
    """The thumbprint of RFC 7638."""
    return OKPKey.import_key(key).thumbprint()


def key_changes(
    states: Mapping[str, str], active: Mapping[str, str], planned: Mapping[str, str] | None
) -> Iterator[dict[str, Any]]:
    """What a record book that knows keys in these states has to be told, without the purpose.

    `active` signs now, `planned` will sign next; whatever else signed or was to sign is
    retired. A compromised key never counts again.
    """
    files = {"active": active, "planned": planned}
    kids = {one["kid"] for one in files.values() if one is not None}
    for kid, state in states.items():
        if state in files and kid not in kids:
            yield {"kid": kid, "state": "retired"}
    for state, jwk in files.items():
        if jwk is not None and states.get(jwk["kid"]) not in (state, "compromised"):
            yield {"kid": jwk["kid"], "state": state, "jwk": dict(jwk)}


def kid_of(token: str) -> str:
    """Which key a token says it was signed with; nothing is checked. Raises ValueError."""
    head = token.split(".", 1)[0]
    return str(json.loads(base64.urlsafe_b64decode(head + "=" * (-len(head) % 4)))["kid"])


def sign(payload: Mapping[str, Any], key: Ed25519PrivateKey, alg: str = "EdDSA") -> str:
    """The token: header, canonical payload and signature. Store it; it is never made again.

    Raises ValueError for an `alg` that is not in `ALGORITHMS`.
    """
    return _signed(payload, key, alg, {"typ": "vc+jwt", "cty": "vc"})


def seal_bag(payload: Mapping[str, Any], key: Ed25519PrivateKey) -> str:
    """The seal of an audit bag: a token like a certificate's that can never pass for one."""
    return _signed(payload, key, "EdDSA", {"typ": BAG_TYPE})


def _signed(
    payload: Mapping[str, Any], key: Ed25519PrivateKey, alg: str, types: Mapping[str, str]
) -> str:
    if alg not in ALGORITHMS:
        raise ValueError(f"{alg} is not one of {', '.join(ALGORITHMS)}")
    header = {"alg": alg, "kid": key_id(key.public_key()), **types}
    data = rfc8785.dumps(dict(payload))
    return jws.serialize_compact(header, data, OKPKey.import_key(key), registry=_REGISTRY)


def verify(token: str, jwks: Mapping[str, Any]) -> dict[str, Any]:
    """The payload of a token that a key of `jwks` has signed; raises CredentialRefused.

    The key is looked up by `kid` in `jwks` only: what the token says of keys (`jku`, `x5u`,
    `jwk`) is ignored, and a token that declares critical extensions is refused.
    """
    if len(token) > TOKEN_SIZE_MAX:
        raise CredentialRefused("too long")
    key = _key_for(_header(token), jwks)
    try:
        data = jws.deserialize_compact(token, key, registry=_REGISTRY).payload
        payload = json.loads(data)
    except (JoseError, ValueError, RecursionError) as error:
        raise CredentialRefused(f"not signed by this key: {error}") from error
    if not isinstance(payload, dict) or {"vc", "vp"} & payload.keys():
        raise CredentialRefused("the payload is no credential")
    return payload


def _header(token: str) -> dict[str, Any]:
    try:
        header: Any = jws.extract_compact(token.encode(), registry=_REGISTRY).headers()
    except (JoseError, TypeError, ValueError, RecursionError) as error:
        raise CredentialRefused("no compact JWS") from error
    if not isinstance(header, dict):
        raise CredentialRefused("no header")
    if "crit" in header or "b64" in header:
        raise CredentialRefused("critical extensions are not understood")
    if header.get("typ") != "vc+jwt":
        raise CredentialRefused("another type of token")
    return header


def _key_for(header: Mapping[str, Any], jwks: Mapping[str, Any]) -> OKPKey:
    kid = header.get("kid")
    for one in jwks.get("keys", ()):
        if isinstance(kid, str) and one.get("kid") == kid and one.get("crv") == "Ed25519":
            return OKPKey.import_key({"kty": "OKP", "crv": "Ed25519", "x": one["x"]})
    raise CredentialRefused("no key of the issuer has this kid")


def _base64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")
