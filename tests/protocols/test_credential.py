"""What a certificate says, and what it never says."""

import base64
import hashlib
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
import rfc8785

from protocols.credential import (
    Certified,
    CertifiedMove,
    CertifiedSpecies,
    Issuer,
    Sealed,
    StatusIndex,
    Treatment,
    context_bytes,
    payload,
)
from protocols.values import DryingRule, Protocol, Range, Verdict

ARRIVED = datetime(2027, 1, 20, 9, 0, tzinfo=UTC)
LISTS = "https://reef.example/status"
PROTOCOL = Protocol(
    name="transfer-288",
    version=1,
    sha256="ab" * 32,
    stay_limit=timedelta(hours=72),
    moves_least=4,
    span_least=timedelta(hours=288),
    warm_c=Decimal("28.0"),
    warm_after=timedelta(hours=6),
    warm_limit=timedelta(hours=48),
    cold_c=Decimal("22.0"),
    drying=DryingRule(timedelta(hours=24), Decimal(200), timedelta(hours=1)),
    observation=timedelta(days=14),
    salinity=Range(Decimal("27.0"), Decimal("36.0")),
    temperature_c=Range(Decimal("24.0"), Decimal("28.0")),
    addresses=("Cryptocaryon irritans",),
    does_not_cover=("Amyloodinium ocellatum", "flukes"),
    cautions=("Bleach and acid never in one room.",),
    sources=("an invented source",),
)
CERTIFIED = Certified(
    uid=UUID("01950000-0000-7000-8000-000000000001"),
    batch=UUID("01950000-0000-7000-8000-000000000002"),
    number="C-2027-0041",
    url="https://reef.example/c/aaaqeayeaudaocajbifqydiob4ibceqt",
    context_url="https://reef.example/contexts/quarantine/v1",
    issuer=Issuer("https://reef.example", "Example Reef"),
    valid_from=ARRIVED + timedelta(days=33),
    zone="Europe/Lisbon",
    species=(CertifiedSpecies("false clownfish", "Amphiprion ocellaris", 17, aphia_id=278400),),
    received=20,
    doa=2,
    placed=18,
    losses={"dead": 1},
    certified=17,
    arrived_on=date(2027, 1, 20),
    moves=(
        CertifiedMove(ARRIVED + timedelta(hours=71), Verdict.ON_TIME, restarted=False),
        CertifiedMove(ARRIVED + timedelta(hours=145), Verdict.OVER, restarted=True),
        CertifiedMove(ARRIVED + timedelta(hours=217), Verdict.ON_TIME, restarted=False),
    ),
    series_started=ARRIVED + timedelta(hours=145),
    series_completed=ARRIVED + timedelta(hours=433),
    observed_from=ARRIVED + timedelta(hours=433),
    observed_until=ARRIVED + timedelta(hours=769),
    protocol=PROTOCOL,
    declared_by_role="manager",
    ledger=Sealed("reef.example/log", 1873, b"\x11" * 32, b"\x22" * 32, 37),
    status=(
        StatusIndex("revocation", f"{LISTS}/1", 90211),
        StatusIndex("suspension", f"{LISTS}/2", 7),
    ),
    treatments=(Treatment(ARRIVED + timedelta(days=30), "praziquantel", "2 mg/L"),),
)


def quarantine(certified=CERTIFIED):
    return payload(certified)["credentialSubject"]["quarantine"]


def test_what_is_signed_is_pinned():
    digest = hashlib.sha256(rfc8785.dumps(payload(CERTIFIED))).hexdigest()

    assert digest == "ade9182b5213495fa5add1aa7d644705b469928589f3d9c00fccd2f675d7ca10"


def test_the_envelope_is_that_of_a_verifiable_credential():
    credential = payload(CERTIFIED)

    assert credential["@context"][0] == "https://www.w3.org/ns/credentials/v2"
    assert credential["type"][0] == "VerifiableCredential"
    assert credential["id"] == CERTIFIED.url
    assert credential["issuer"] == {"id": "https://reef.example", "name": "Example Reef"}
    assert credential["validFrom"] == "2027-02-22T09:00:00Z"
    assert not {"iss", "sub", "jti", "nbf", "vc", "vp"} & credential.keys()


def test_every_move_stands_there_with_its_verdict_and_restart():
    assert quarantine()["moves"] == [
        {"at": "2027-01-23T08:00:00Z", "verdict": "on_time", "restarted": False},
        {"at": "2027-01-26T10:00:00Z", "verdict": "over", "restarted": True},
        {"at": "2027-01-29T10:00:00Z", "verdict": "on_time", "restarted": False},
    ]


def test_counts_are_those_from_bag_to_certificate():
    assert quarantine()["counts"] == {
        "received": 20,
        "doa": 2,
        "placed": 18,
        "losses": {"dead": 1},
        "certified": 17,
    }


def test_what_was_done_stands_there_with_its_dates():
    said = quarantine()

    assert said["arrived_on"] == "2027-01-20"
    assert said["series"] == {
        "started_at": "2027-01-26T10:00:00Z",
        "completed_at": "2027-02-07T10:00:00Z",
    }
    assert said["observation"]["ended_at"] == "2027-02-21T10:00:00Z"
    assert said["treatments"] == [
        {"at": "2027-02-19T09:00:00Z", "product": "praziquantel", "dose": "2 mg/L"}
    ]
    assert said["zone"] == "Europe/Lisbon"


def test_it_says_what_it_does_not_cover_and_that_it_is_not_official():
    said = quarantine()

    assert said["addresses"] == ["Cryptocaryon irritans"]
    assert said["not_covered"] == ["Amyloodinium ocellatum", "flukes"]
    assert "not an official health certificate" in said["statement"]
    assert "not an official health certificate" in payload(CERTIFIED)["description"]


def test_the_version_and_the_numbers_of_the_protocol_are_frozen_in_it():
    assert quarantine()["protocol"] == {
        "name": "transfer-288",
        "version": 1,
        "sha256": "ab" * 32,
        "stay_limit_s": 259200,
        "moves_least": 4,
        "span_least_s": 1036800,
        "drying_s": 86400,
        "observation_s": 1209600,
    }


def test_the_ledger_is_bound_by_size_root_and_head():
    assert quarantine()["ledger"] == {
        "origin": "reef.example/log",
        "tree_size": 1873,
        "root": "11" * 32,
        "batch_head": "22" * 32,
        "batch_entries": 37,
    }


def test_each_status_list_is_named_with_the_index_as_text():
    first, second = payload(CERTIFIED)["credentialStatus"]

    assert first == {
        "id": "https://reef.example/status/1#90211",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "revocation",
        "statusListIndex": "90211",
        "statusListCredential": "https://reef.example/status/1",
    }
    assert second["statusPurpose"] == "suspension"
    assert second["id"] != second["statusListCredential"]


def test_a_species_is_named_by_its_register_number_where_it_is_known():
    known = quarantine()["species"]
    unknown = quarantine(
        replace(CERTIFIED, species=(CertifiedSpecies("goby", "Gobiidae", 17),))
    )

    assert known == [
        {
            "name": "false clownfish",
            "scientific_name": "Amphiprion ocellaris",
            "count": 17,
            "scientific_name_id": "urn:lsid:marinespecies.org:taxname:278400",
        }
    ]
    assert unknown["species"] == [{"name": "goby", "scientific_name": "Gobiidae", "count": 17}]


def test_the_only_party_named_is_the_organisation_and_a_role():
    assert quarantine()["declared_by"] == {"organisation": "Example Reef", "role": "manager"}
    assert set(quarantine()) == {
        "certificate",
        "number",
        "test",
        "statement",
        "declared_by",
        "species",
        "counts",
        "arrived_on",
        "zone",
        "series",
        "moves",
        "observation",
        "treatments",
        "protocol",
        "addresses",
        "not_covered",
        "remarks",
        "ledger",
    }


@pytest.mark.parametrize(
    ("test", "name"),
    [
        (False, "Quarantine record C-2027-0041"),
        (True, "TEST - Quarantine record C-2027-0041"),
    ],
)
def test_a_certificate_made_under_the_test_clock_is_marked(test, name):
    marked = replace(CERTIFIED, test=test)

    assert payload(marked)["name"] == name
    assert quarantine(marked)["test"] is test


def test_the_context_is_pinned_by_its_digest_in_the_credential():
    context = context_bytes(CERTIFIED.context_url)
    digest = base64.b64encode(hashlib.sha256(context).digest()).decode()

    assert payload(CERTIFIED)["relatedResource"] == [
        {"id": CERTIFIED.context_url, "digestSRI": f"sha256-{digest}"}
    ]
    assert json.loads(context)["@context"]["quarantine"]["@type"] == "@json"


def test_the_credential_is_made_of_plain_json_values():
    credential = payload(CERTIFIED)

    assert json.loads(rfc8785.dumps(credential)) == credential
