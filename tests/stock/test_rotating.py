"""Signing keys from planned to compromised, and what was signed with them meanwhile."""

import hashlib
import io
import json
from datetime import datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from protocols.signing import key_changes, kid_of, public_jwk, verify
from stock import keys, rebuild, rotating
from stock.clock import named
from stock.models import Certificate, CertificateText, Fact, Log
from stock.queries.signing_keys import known_keys
from stock.verify import verify as verify_book
from tests.certified import Buyer, certify, kept, part, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor.walk, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _keys_of_its_own(story, db, settings, tmp_path):
    """The same keys as the story was signed with, in a folder that a test may change."""
    settings.TEST_CLOCK = True
    for file in settings.KEYS.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    settings.KEYS = tmp_path


@pytest.fixture
def walk(story):
    return story[0]


@pytest.fixture
def url(story):
    return story[1]["url"]


@pytest.fixture
def signed_with(url):
    return kid_of(CertificateText.objects.get().token)


def run(walk, *words, hours=0):
    """What the command says, so many hours later."""
    said = io.StringIO()
    with named(datetime.fromisoformat(walk.now) + timedelta(hours=hours)):
        call_command("keys", *words, stdout=said)
    return said.getvalue()


def states():
    return {one.kid: one.state for one in known_keys("certificate").values()}


def published():
    return json.loads(Client().get("/.well-known/jwks.json").content)


def verified(token):
    return verify(token, published())


def test_a_record_book_is_told_what_changed_and_nothing_twice():
    old, new = ({"kid": one, "x": one} for one in ("old", "new"))

    assert list(key_changes({"old": "active"}, old, None)) == []
    assert list(key_changes({"old": "active", "new": "planned"}, new, None)) == [
        {"kid": "old", "state": "retired"},
        {"kid": "new", "state": "active", "jwk": new},
    ]
    assert list(key_changes({"old": "compromised"}, old, None)) == []


def test_the_next_key_is_published_an_hour_before_it_signs(walk, url, signed_with):
    planned = run(walk, "plan").split(" ")[0]
    assert states() == {signed_with: "active", planned: "planned"}
    assert {one["kid"] for one in published()["keys"]} == {signed_with, planned}

    with pytest.raises(CommandError, match="may not know it yet"):
        run(walk, "activate")
    run(walk, "activate", hours=1)

    assert states() == {signed_with: "retired", planned: "active"}
    assert public_jwk(keys.private_key("certificate"))["kid"] == planned
    assert verified(CertificateText.objects.get().token)["id"] == url
    assert signed_with in run(walk, "list", hours=2)


def test_nothing_is_activated_that_was_not_planned(walk):
    with pytest.raises(CommandError, match="plan one first"):
        run(walk, "activate")


def test_a_planned_key_can_be_given_up_but_not_the_one_that_signs(walk, signed_with):
    planned = run(walk, "plan").split(" ")[0]
    run(walk, "retire", planned)

    assert states() == {signed_with: "active", planned: "retired"}
    assert keys.planned_key("certificate") is None
    for kid in (planned, signed_with, "unheard-of"):
        with pytest.raises(CommandError):
            run(walk, "retire", kid)


def test_a_compromised_key_is_taken_back_and_another_signs(walk, url, signed_with):
    run(walk, "compromised", signed_with)

    assert signed_with not in {one["kid"] for one in published()["keys"]}
    assert sorted(states().values()) == ["active", "compromised"]
    page = Client().get(url).content.decode()
    assert "is in other hands" in page
    assert Buyer(walk.now).data(url)["proof"]["key"] == {
        "kid": signed_with,
        "compromised": True,
    }


def test_a_compromised_key_that_is_put_back_signs_nothing_more(walk, signed_with):
    file = keys._file("certificate")
    before = file.read_bytes()
    run(walk, "compromised", signed_with)
    file.write_bytes(before)
    run(walk, "list")

    assert public_jwk(keys.private_key("certificate"))["kid"] != signed_with


def test_what_it_signed_is_signed_anew_with_number_content_and_address(walk, url, signed_with):
    row, before = Certificate.objects.get(), CertificateText.objects.get().token
    run(walk, "compromised", signed_with)
    assert "1 certificates" in run(walk, "sign-anew")
    assert "0 certificates" in run(walk, "sign-anew")

    after = CertificateText.objects.get().token
    fact = Fact.objects.get(kind="certificate_signed_anew")
    assert kid_of(after) != signed_with
    assert after.split(".")[1] == before.split(".")[1]
    assert verified(after)["id"] == url
    assert fact.body["was_sha256"] == hashlib.sha256(before.encode()).hexdigest()
    assert Certificate.objects.get().token_sha256 == fact.body["token_sha256"]
    assert Certificate.objects.get().number == row.number
    assert "is in other hands" not in Client().get(url).content.decode()
    assert [verify_book(log) for log in Log.objects.all()] == [None, None]
    assert rebuild.check(fact.recorded_at) == []


def test_a_text_that_was_exchanged_is_not_made_genuine(walk, signed_with):
    run(walk, "compromised", signed_with)
    token = CertificateText.objects.get().token
    CertificateText.objects.update(token=token[:-4] + "AAAA")

    with pytest.raises(CommandError, match="not the one that was entered"):
        run(walk, "sign-anew")
    site = Log.objects.get(uid=walk.site)
    assert "not the one that was signed" in verify_book(site).why
    CertificateText.objects.all().delete()
    assert verify_book(site).seq == Fact.objects.get(kind="certificate_issued").seq


@pytest.mark.parametrize("name", ["EdDSA", "Ed25519"])
def test_which_name_of_the_algorithm_is_written_is_a_setting(settings, name):
    settings.SIGNING_ALG = name
    token = keys.signed({"id": "https://reef.example/c/1"})

    assert verified(token) == {"id": "https://reef.example/c/1"}
    assert part(token, 0)["alg"] == name


def test_keys_of_other_purposes_are_rotated_apart(walk, signed_with):
    certificate = public_jwk(keys.private_key("certificate"))
    run(walk, "plan", "checkpoint")
    run(walk, "activate", "checkpoint", hours=2)

    assert public_jwk(keys.private_key("certificate")) == certificate
    assert sorted(one.state for one in known_keys("checkpoint").values()) == [
        "active",
        "retired",
    ]
    assert timedelta(hours=1) == rotating.KNOWN_AFTER
