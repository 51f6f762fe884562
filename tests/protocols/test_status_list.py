"""Status lists: bits in the order of the standard, packed and unpacked."""

import base64
import gzip
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.credential import Issuer
from protocols.signing import new_key, public_jwk, sign, verify
from protocols.status_list import (
    bit,
    decoded_list,
    empty_bits,
    encoded_list,
    status_list_payload,
    with_bit,
)

# The example of the standard, W3C Bitstring Status List 1.0.
PUBLISHED = "uH4sIAAAAAAAAA-3BMQEAAADCoPVPbQwfoAAAAAAAAAAAAAAAAAAAAIC3AYbSVKsAQAAA"
URL = "https://reef.example/status/1"
ISSUER = Issuer("https://reef.example", "Example Reef")
NOON = datetime(2027, 1, 5, 12, 0, tzinfo=UTC)
INDEXES = st.integers(0, 131_071)


def packed(data):
    return "u" + base64.urlsafe_b64encode(data).decode().rstrip("=")


def made(bits):
    return status_list_payload(URL, ISSUER, "revocation", bits, NOON)


def test_the_published_list_is_131072_entries_of_nothing():
    assert decoded_list(PUBLISHED) == bytes(16_384) == empty_bits()


def test_an_empty_list_is_unpacked_by_the_standard_library_alone():
    text = encoded_list(empty_bits())

    assert text[0] == "u"
    assert gzip.decompress(base64.urlsafe_b64decode(text[1:] + "==")) == bytes(16_384)


def test_index_0_is_the_left_most_bit_of_the_first_byte():
    bits = with_bit(with_bit(empty_bits(), 0), 10)

    assert bits[:2] == bytes([0b1000_0000, 0b0010_0000])
    assert with_bit(empty_bits(), 131_071)[-1] == 1


@given(INDEXES, INDEXES)
def test_setting_one_entry_changes_no_other(index, other):
    bits = with_bit(empty_bits(), index)

    assert bit(bits, index)
    assert bit(bits, other) == (index == other)
    assert with_bit(bits, index, value=False) == empty_bits()


@given(st.sets(INDEXES, max_size=20))
def test_a_list_is_read_back_from_its_text(indexes):
    number = sum(1 << (131_071 - index) for index in indexes)
    bits = number.to_bytes(16_384, "big")

    assert decoded_list(encoded_list(bits)) == bits
    assert all(bit(bits, index) for index in indexes)


def test_the_same_bits_have_the_same_text():
    text = encoded_list(empty_bits())

    # Where gzip would put the time of packing.
    assert base64.urlsafe_b64decode(text[1:] + "==")[4:8] == bytes(4)
    assert text == encoded_list(bytes(16_384))


@pytest.mark.parametrize("index", [-1, 131_072])
def test_an_entry_outside_the_list_is_refused(index):
    with pytest.raises(ValueError, match="no entry"):
        bit(empty_bits(), index)
    with pytest.raises(ValueError, match="no entry"):
        with_bit(empty_bits(), index)


@pytest.mark.parametrize("entries", [0, 131_064, 131_073, 2**23 + 8])
def test_a_list_too_short_to_hide_in_or_too_long_to_send_is_not_made(entries):
    with pytest.raises(ValueError, match="entries"):
        empty_bits(entries)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "u",
        PUBLISHED[1:],
        PUBLISHED[:-10],
        PUBLISHED.replace("A", "!", 1),
        packed(b"not gzip"),
        packed(gzip.compress(bytes(16_383), mtime=0)),
        packed(gzip.compress(bytes(2**20 + 1), mtime=0)),
    ],
)
def test_what_is_no_list_is_refused(text):
    with pytest.raises(ValueError, match="list"):
        decoded_list(text)


def test_unpacking_a_list_stops_at_its_largest_size():
    with pytest.raises(ValueError, match="cut off or too long"):
        decoded_list(packed(gzip.compress(bytes(50_000_000))))


def test_the_credential_of_a_list_has_the_form_of_the_standard():
    credential = made(empty_bits())

    assert credential == {
        "@context": ["https://www.w3.org/ns/credentials/v2"],
        "id": URL,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": {"id": "https://reef.example", "name": "Example Reef"},
        "validFrom": "2027-01-05T12:00:00Z",
        "credentialSubject": {
            "id": f"{URL}#list",
            "type": "BitstringStatusList",
            "statusPurpose": "revocation",
            "encodedList": encoded_list(empty_bits()),
        },
    }


def test_a_signed_list_is_verified_like_a_certificate():
    key = new_key()
    bits = with_bit(empty_bits(), 90_211)

    read = verify(sign(made(bits), key), {"keys": [public_jwk(key)]})

    assert bit(decoded_list(read["credentialSubject"]["encodedList"]), 90_211)


def test_a_list_has_one_of_the_two_purposes():
    with pytest.raises(ValueError, match="is not one of"):
        status_list_payload(URL, ISSUER, "refusal", empty_bits(), NOON)
