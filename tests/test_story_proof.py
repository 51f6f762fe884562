"""What the story checks a certificate with does not believe everything."""

import base64
import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from api.story.client import Stopped
from api.story.proof import checked


class Publishing:
    """A service that publishes one key and one token."""

    def __init__(self, signer, published, kid="a"):
        head = text({"alg": "EdDSA", "kid": kid})
        said = f"{head}.{text({'name': 'a record'})}"
        self.token = f"{said}.{text(signer.sign(said.encode()))}"
        public = text(published.public_key().public_bytes_raw())
        self.keys = json.dumps({"keys": [{"kid": "a", "x": public}]})

    def text(self, path, accept):
        return self.keys if path.endswith("jwks.json") else self.token


def text(value):
    raw = value if isinstance(value, bytes) else json.dumps(value).encode()
    return base64.urlsafe_b64encode(raw).decode().rstrip("=")


@pytest.fixture
def key():
    return Ed25519PrivateKey.generate()


def test_a_text_by_the_published_key_is_good(key):
    assert checked(Publishing(key, key), "/c/x") == {"name": "a record"}


def test_a_text_by_another_key_is_not(key):
    with pytest.raises(Stopped, match="does not fit"):
        checked(Publishing(Ed25519PrivateKey.generate(), key), "/c/x")


def test_a_text_by_a_key_that_is_not_published_is_not(key):
    with pytest.raises(Stopped, match="No published key"):
        checked(Publishing(key, key, kid="b"), "/c/x")
