"""Certificates in storage: numbers, seals, keys, and what a rebuild makes of them."""

import base64
import hashlib
from datetime import UTC, datetime
from uuid import UUID

import pytest
from django.test import Client

from protocols import tree
from protocols.webhooks import EVENTS
from stock import keys, rebuild
from stock.models import Certificate, CertificateText, Fact, Log, WebhookEvent
from stock.queries.certified import leaves_of
from stock.queries.signing_keys import states_of_keys
from stock.verify import verify
from tests.certified import Buyer, certify, kept, part, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield ready_floor(Client())


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


@pytest.fixture
def certificate(floor, batch):
    return Certificate.objects.get(uid=certify(floor, batch, 20)["uid"])


def fact_of(certificate):
    return Fact.objects.get(kind="certificate_issued", subjects__subject=certificate.uid)


def seal_before(fact):
    return Fact.objects.get(log=fact.log, seq=fact.seq - 1)


def leaves(log, size):
    rows = Fact.objects.filter(log=log, seq__lt=size).order_by("seq")
    return [bytes(leaf) for leaf in rows.values_list("leaf", flat=True)]


def test_the_fact_binds_the_text_by_its_digest(certificate):
    token = CertificateText.objects.get(certificate=certificate.uid).token

    assert (
        fact_of(certificate).body["token_sha256"] == hashlib.sha256(token.encode()).hexdigest()
    )


def test_the_text_names_the_root_of_everything_before_it(certificate):
    fact = fact_of(certificate)
    token = CertificateText.objects.get(certificate=certificate.uid).token
    ledger = part(token, 1)["credentialSubject"]["quarantine"]["ledger"]

    before = leaves(fact.log, fact.seq)
    assert ledger["tree_size"] == fact.seq == len(before)
    assert ledger["root"] == fact.body["root"] == tree.root(tree.edge_of(before)).hex()
    assert ledger["origin"] == f"fillmark/{fact.log_id}"


def test_other_programs_are_told_what_becomes_of_it_in_order_and_without_names(floor, batch):
    walk = floor.walk
    hook = {"label": "A", "address": "https://example.org/", "kinds": list(EVENTS)}
    walk.post(f"sites/{walk.site}/webhooks", hook)
    uid = certify(floor, batch, 20)["uid"]
    held = walk.post(f"batches/{batch}/holds", {"why": "Ask Mara about the spots."})
    walk.post(f"holds/{held['hold']['uid']}/liftings", {"why": "Mara saw dust."})
    walk.post(f"batches/{batch}/dispatches", {"count": 5, "buyer": "Mara & Sons"})
    walk.post(f"certificates/{uid}/revocations", {"reason": "Mara asked."})

    events = WebhookEvent.objects.order_by("pk")
    assert list(events.values_list("kind", flat=True)) == [
        "certificate.issued",
        "hold.placed",
        "certificate.suspended",
        "hold.lifted",
        "certificate.lifted",
        "batch.dispatched",
        "certificate.revoked",
    ]
    assert {one.data["batch"] for one in events} == {batch}
    positions = [one.data["position"] for one in events]
    assert positions == sorted(positions)
    assert events[2].data["by_rule"] is True
    assert not any("Mara" in str(one.data) for one in events)


def test_the_seal_stands_in_the_tree_that_the_text_names(certificate):
    fact = fact_of(certificate)
    seal, before = seal_before(fact), leaves(fact.log, fact.seq)

    proof = tree.inclusion_proof(before, seal.seq)

    root = bytes.fromhex(fact.body["root"])
    assert seal.kind == "batch_sealed"
    assert tree.verify_inclusion(bytes(seal.leaf), seal.seq, len(before), proof, root)


def test_the_seal_is_over_every_entry_about_the_batch(certificate, batch):
    seal = seal_before(fact_of(certificate))
    about = Fact.objects.filter(subjects__subject=batch, seq__lt=seal.seq).order_by("seq")
    found = [bytes(leaf) for leaf in about.values_list("leaf", flat=True)]

    assert seal.body["entries"] == len(found) == 6
    assert seal.body["head"] == tree.batch_head(found, len(found)).hex()


def test_what_was_said_of_an_entry_belongs_to_the_seal(floor, batch):
    move = Fact.objects.filter(kind="batch_moved").first()
    before = len(leaves_of([UUID(batch)]))
    keeper = floor.walk.as_person("Nia", "keeper")

    keeper.post(f"facts/{move.uid}/confirmations", {})

    assert len(leaves_of([UUID(batch)])) == before + 1


def test_every_certificate_has_places_of_its_own(floor, batch, certificate):
    reason = {"reason": "so"}
    floor.walk.post(f"certificates/{certificate.uid}/revocations", reason)
    certify(floor, batch, 20)

    places = list(Certificate.objects.values_list("revocation_index", "suspension_index"))
    assert len(set(places[0] + places[1])) == 4
    assert all(0 <= place < 131_072 for place in places[0] + places[1])


def test_addresses_have_nothing_in_common_and_cannot_be_found_by_trying(floor, batch):
    first = certify(floor, batch, 20)
    floor.walk.post(f"certificates/{first['uid']}/revocations", {"reason": "so"})
    codes = [one["url"].rpartition("/")[2] for one in (first, certify(floor, batch, 20))]

    raw = [base64.b32decode(code.upper()) for code in codes]
    assert [len(one) for one in raw] == [20, 20]
    assert raw[0][:4] != raw[1][:4]


def test_a_rebuild_gives_the_same_certificates(floor, certificate):
    floor.walk.post(f"certificates/{certificate.uid}/suspensions", {"reason": "so"})
    at = datetime(2027, 2, 3, 5, 0, tzinfo=UTC)

    assert rebuild.check(at) == []
    rebuild.rebuild(at)

    assert Certificate.objects.get(uid=certificate.uid).state == "suspended"
    assert CertificateText.objects.filter(certificate=certificate.uid).exists()


def test_both_record_books_stay_whole(certificate):
    assert [verify(log) for log in Log.objects.all()] == [None, None]


def test_the_public_key_stands_in_the_organisations_book(certificate):
    (fact,) = Fact.objects.filter(kind="signing_key_set")

    token = CertificateText.objects.get(certificate=certificate.uid).token
    assert fact.log_id == certificate.organisation_id
    assert fact.body["state"] == "active"
    assert fact.body["jwk"]["kid"] == part(token, 0)["kid"]


def test_a_key_is_entered_once(floor, batch, certificate):
    floor.walk.post(f"certificates/{certificate.uid}/revocations", {"reason": "so"})
    certify(floor, batch, 20)

    assert Fact.objects.filter(kind="signing_key_set").count() == 1


def test_another_key_retires_the_one_before_and_old_texts_stay_checkable(
    floor, batch, certificate, settings, tmp_path
):
    old = part(CertificateText.objects.get(certificate=certificate.uid).token, 0)["kid"]
    settings.KEYS = tmp_path
    floor.walk.post(f"certificates/{certificate.uid}/revocations", {"reason": "so"})
    newer = certify(floor, batch, 20)

    buyer = Buyer(floor.walk.now)
    first = CertificateText.objects.get(certificate=certificate.uid).token
    assert sorted(states_of_keys(certificate.organisation_id, "certificate").values()) == [
        "active",
        "retired",
    ]
    assert buyer.verified(first)["id"] != buyer.verified(buyer.token(newer["url"]))["id"]
    assert part(buyer.token(newer["url"]), 0)["kid"] != old


def test_no_private_key_is_in_the_database(certificate):
    secret = keys.private_key("certificate").private_bytes_raw().hex()
    bodies = [str(fact.body) for fact in Fact.objects.filter(kind="signing_key_set")]

    assert all(secret not in body and "'d'" not in body for body in bodies)


def test_a_number_belongs_to_the_year_on_the_wall_of_the_site(floor, batch, certificate):
    floor.walk.post(f"certificates/{certificate.uid}/revocations", {"reason": "so"})
    walk = floor.walk.at("2027-12-31T23:30:00Z")
    signs_in = {"email": "mara@example.org", "password": "correct horse"}
    walk.token = walk.post("tokens", signs_in)["token"]

    assert certificate.number == "C-2027-0001"
    assert certify(floor, batch, 20)["number"] == "C-2028-0001"
