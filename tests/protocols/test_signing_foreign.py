"""Programs that share no code with ours check what we sign, by either name of the algorithm."""

import json

import jwt
import pytest

from protocols.signing import ALGORITHMS, new_key, public_jwk, sign
from tests.foreign import node

CREDENTIAL = {"issuer": "https://shop.example", "credentialSubject": {"certified": 20}}


@pytest.fixture(scope="module")
def key():
    return new_key()


@pytest.mark.parametrize("alg", ALGORITHMS)
def test_the_library_of_another_language_verifies_our_signature(key, alg):
    jwks = json.dumps({"keys": [public_jwk(new_key()), public_jwk(key)]})
    said = json.loads(node("verify.mjs", sign(CREDENTIAL, key, alg), jwks))

    assert said["payload"] == CREDENTIAL
    assert said["header"]["alg"] == alg
    assert said["header"]["typ"] == "vc+jwt"


def test_it_refuses_a_token_of_a_key_that_is_not_published(key):
    jwks = json.dumps({"keys": [public_jwk(new_key())]})

    with pytest.raises(AssertionError, match="no applicable key found"):
        node("verify.mjs", sign(CREDENTIAL, key), jwks)


def test_another_library_of_this_language_verifies_it_by_the_older_name(key):
    found = jwt.PyJWK(public_jwk(key), algorithm="EdDSA")
    options = {"verify_aud": False}
    said = jwt.decode(sign(CREDENTIAL, key), found, algorithms=["EdDSA"], options=options)

    assert said == CREDENTIAL
