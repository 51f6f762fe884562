"""What programs check a certificate with: text, keys, context and status lists."""

import base64
import gzip
import hashlib
import json
from datetime import datetime

import jwt
import pytest
from django.test import Client

from stock.models import Certificate, CertificateText
from tests.certified import Buyer, certify, kept, part, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor.walk, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def walk(story):
    return story[0]


@pytest.fixture
def certificate(story):
    return story[1]


@pytest.fixture
def url(certificate):
    return certificate["url"]


@pytest.fixture
def buyer(walk):
    return Buyer(walk.now)


def test_other_peoples_programs_verify_it(buyer, url):
    token = buyer.token(url)

    assert buyer.verified(token)["id"] == url
    assert jwt.get_unverified_header(token) == {
        "alg": "EdDSA",
        "kid": part(token, 0)["kid"],
        "typ": "vc+jwt",
        "cty": "vc",
    }


def test_a_changed_text_is_not_verified(buyer, url):
    token = buyer.token(url)
    payload = {**part(token, 1), "name": "better"}
    text = base64.urlsafe_b64encode(json.dumps(payload).encode()).decode().rstrip("=")
    head, _, signature = token.split(".")

    with pytest.raises(jwt.InvalidSignatureError):
        buyer.verified(f"{head}.{text}.{signature}")


def test_the_text_is_the_one_that_was_kept(buyer, url, certificate):
    kept_text = CertificateText.objects.get(certificate=certificate["uid"]).token

    assert buyer.get(url, "application/vc+jwt").content == kept_text.encode()


def test_keys_are_public_and_only_the_public_half(buyer):
    answer = buyer.get("/.well-known/jwks.json")

    assert all(set(key) == {"kty", "crv", "x", "kid", "use"} for key in answer.json()["keys"])
    assert answer["Cache-Control"] == "public, max-age=3600"
    again = buyer.get("/.well-known/jwks.json", **{"If-None-Match": answer["ETag"]})
    assert again.status_code == 304


def test_the_issuer_says_where_its_keys_are(buyer):
    assert buyer.data("/.well-known/jwt-vc-issuer") == {
        "issuer": "http://testserver",
        "jwks_uri": "http://testserver/.well-known/jwks.json",
    }


def test_the_context_has_the_digest_that_the_certificate_names(buyer, url):
    (named,) = part(buyer.token(url), 1)["relatedResource"]

    served = buyer.get(named["id"]).content

    digest = base64.b64encode(hashlib.sha256(served).digest()).decode()
    assert named["digestSRI"] == f"sha256-{digest}"


@pytest.mark.parametrize(
    ("step", "purpose"),
    [
        ("suspensions", "suspension"),
        ("revocations", "revocation"),
        ("supersessions", "revocation"),
    ],
)
def test_what_is_told_of_it_sets_its_bit_and_no_other(
    walk, buyer, url, certificate, step, purpose
):
    credential = part(buyer.token(url), 1)
    assert not any(buyer.is_set(one, credential) for one in ("suspension", "revocation"))

    walk.post(f"certificates/{certificate['uid']}/{step}", {"reason": "so"})

    other = {"suspension": "revocation", "revocation": "suspension"}[purpose]
    assert buyer.is_set(purpose, credential)
    assert not buyer.is_set(other, credential)


def test_lifting_clears_the_bit(walk, buyer, url, certificate):
    walk.post(f"certificates/{certificate['uid']}/suspensions", {"reason": "so"})
    walk.post(f"certificates/{certificate['uid']}/liftings", {"reason": "so"})

    assert not buyer.is_set("suspension", part(buyer.token(url), 1))


def test_a_list_is_a_credential_of_its_own_and_tells_of_nobody(buyer, url):
    entry = part(buyer.token(url), 1)["credentialStatus"][0]
    answer = buyer.get(entry["statusListCredential"])

    listed = buyer.verified(answer.content.decode())
    packed = listed["credentialSubject"]["encodedList"][1:]
    bits = gzip.decompress(base64.urlsafe_b64decode(packed + "=" * (-len(packed) % 4)))
    assert answer["Content-Type"] == "application/vc+jwt"
    assert listed["id"] == entry["statusListCredential"]
    assert listed["type"][1] == "BitstringStatusListCredential"
    assert bits == bytes(16_384)


def test_a_list_is_not_sent_again_while_it_is_the_same_within_a_minute(walk, buyer, url):
    """And is at once where something changed."""
    address = part(buyer.token(url), 1)["credentialStatus"][1]["statusListCredential"]
    known = {"If-None-Match": buyer.get(address)["ETag"]}
    soon = datetime.fromisoformat(walk.now).replace(second=20).isoformat()

    assert Buyer(soon).get(address, **known).status_code == 304
    certificate = Certificate.objects.get()
    walk.post(f"certificates/{certificate.uid}/suspensions", {"reason": "so"})
    assert Buyer(soon).get(address, **known).status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/status/1",
        "/status/01950000-0000-7000-8000-000000000001-revocation",
        "/status/01950000-0000-7000-8000-000000000001-gossip",
    ],
)
def test_there_is_no_other_list(buyer, path):
    assert buyer.get(path).status_code == 404
