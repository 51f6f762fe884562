"""The bytes of a ledger entry: pinned, canonical, and read back."""

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.bodies import BodyRefused
from protocols.entries import EntryUnreadable, entry_bytes, read_entry, salted_digest
from protocols.values import Standing

NOON = datetime(2027, 1, 5, 12, 0, tzinfo=UTC)
LOG, FACT, ADA, BEN, TUB, RACK, TABLET = (
    UUID(f"01950000-0000-7000-8000-00000000000{number}") for number in range(1, 8)
)
EMPTIED = {
    "v": 1,
    "log": LOG,
    "seq": 7,
    "uid": FACT,
    "kind": "emptied",
    "performed_at": NOON - timedelta(hours=4),
    "offset_min": 60,
    "recorded_at": NOON,
    "doer": ADA,
    "messenger": BEN,
    "standing": Standing.HAPPENED,
    "texts": {},
    "files": [],
    "body": {"container": TUB, "searched": True},
}
FULL = {
    **EMPTIED,
    "kind": "container_set",
    "device": TABLET,
    "entry_no": 3,
    "raw_at": NOON - timedelta(hours=4, seconds=2),
    "clock_offset_ms": -1400,
    "insist": [{"rule": "label_taken", "reason": "repainted"}],
    "reason": "Cafe\u0301",
    "group": FACT,
    "about": TUB,
    "texts": {"note": "ab" * 32},
    "files": ["cd" * 32],
    "body": {
        "container": TUB,
        "label": "R1-01",
        "rack": RACK,
        "x_m": "0.60",
        "y_m": "1.2",
        "z_m": "0",
        "inside_m": {"length": "0.6", "width": "0.4", "height": "0.35"},
        "shape": "box",
        "fill_mark_l": "60",
        "lid": True,
        "air_stone": False,
        "in_use": True,
    },
}


def changed(**members):
    return {**EMPTIED, **members}


def placed_list(lines):
    line = {"line": TUB, "text": "Chromis viridis " * 12, "listed": 20}
    body = {"consignment": TUB, "supplier": RACK, "list_version": 1, "lines": [line] * lines}
    return changed(kind="list_applied", body=body)


def test_the_bytes_of_a_small_entry_are_pinned():
    assert entry_bytes(EMPTIED) == (
        b'{"body":{"container":"01950000-0000-7000-8000-000000000005","searched":true},'
        b'"doer":"01950000-0000-7000-8000-000000000003","files":[],"kind":"emptied",'
        b'"log":"01950000-0000-7000-8000-000000000001",'
        b'"messenger":"01950000-0000-7000-8000-000000000004","offset_min":60,'
        b'"performed_at":"2027-01-05T08:00:00Z","recorded_at":"2027-01-05T12:00:00Z",'
        b'"seq":7,"standing":"happened","texts":{},'
        b'"uid":"01950000-0000-7000-8000-000000000002","v":1}'
    )


def test_the_digest_of_a_full_entry_is_pinned():
    digest = hashlib.sha256(entry_bytes(FULL)).hexdigest()

    assert digest == "20771a7a86dd7d326e241efb8a44cdf834b32a3c7f14dfd6a9a25f18d9a9b98e"


def test_an_entry_is_read_back():
    entry = read_entry(entry_bytes(FULL))

    assert entry["uid"] == str(FACT)
    assert entry["reason"] == "Café"
    assert entry["raw_at"] == "2027-01-05T07:59:58Z"
    assert entry_bytes(entry) == entry_bytes(FULL)


@pytest.mark.parametrize(
    "absent",
    ["device", "entry_no", "raw_at", "clock_offset_ms", "reason", "group", "about", "insist"],
)
def test_a_member_that_is_absent_leaves_no_trace(absent):
    assert entry_bytes(changed(**{absent: None})) == entry_bytes(EMPTIED)


def test_an_empty_list_of_rules_set_aside_leaves_no_trace():
    assert entry_bytes(changed(insist=[])) == entry_bytes(EMPTIED)


def test_a_moment_is_kept_in_utc_wherever_it_was_told():
    there = timezone(timedelta(hours=-5))

    told = changed(recorded_at=NOON.astimezone(there))

    assert entry_bytes(told) == entry_bytes(EMPTIED)


def test_two_spellings_of_one_text_give_one_entry():
    assert entry_bytes(changed(reason="é")) == entry_bytes(changed(reason="e\u0301"))


@pytest.mark.parametrize(
    ("members", "pointer"),
    [
        ({"v": 2}, "/v"),
        ({"v": True}, "/v"),
        ({"seq": -1}, "/seq"),
        ({"seq": 1.0}, "/seq"),
        ({"seq": 2**53}, "/seq"),
        ({"uid": "A-3"}, "/uid"),
        ({"uid": str(FACT).replace("-", "")}, "/uid"),
        ({"uid": "01950000-0000-7000-8000-00000000000A"}, "/uid"),
        ({"doer": None}, "/doer"),
        ({"standing": "perhaps"}, "/standing"),
        ({"performed_at": NOON.replace(tzinfo=None)}, "/performed_at"),
        ({"performed_at": NOON.replace(microsecond=1)}, "/performed_at"),
        ({"performed_at": "2027-01-05T13:00:00+01:00"}, "/performed_at"),
        ({"reason": "a\x00b"}, "/reason"),
        ({"reason": "\ud800"}, "/reason"),
        ({"texts": {"note": "hello"}}, "/texts/note"),
        ({"files": ["photo.jpg"]}, "/files/0"),
        ({"insist": [{"rule": "kit_in_use"}]}, "/insist/0/reason"),
        ({"entry_no": Decimal(3)}, "/entry_no"),
        ({"mood": "good"}, "/mood"),
        ({"kind": "danced"}, ""),
        ({"body": {"container": str(TUB)}}, "/searched"),
        ({"body": {"container": TUB, "searched": 1}}, "/searched"),
    ],
)
def test_what_has_not_the_form_of_an_entry_is_refused_at_its_place(members, pointer):
    with pytest.raises(BodyRefused) as refused:
        entry_bytes(changed(**members))

    assert [one.pointer for one in refused.value.reasons] == [pointer]


def test_an_entry_is_smaller_than_64_kib():
    largest = len(entry_bytes(placed_list(240)))

    assert 60_000 < largest < 65_536
    with pytest.raises(ValueError, match="at most 65535 bytes"):
        entry_bytes(placed_list(300))


def test_an_entry_of_exactly_the_largest_size_is_kept():
    room = 65_535 - len(entry_bytes(changed(reason="")))

    assert len(entry_bytes(changed(reason="x" * room))) == 65_535
    with pytest.raises(ValueError, match="at most"):
        entry_bytes(changed(reason="x" * (room + 1)))


def test_an_entry_of_a_kind_no_longer_known_stays_readable():
    data = entry_bytes(EMPTIED).replace(b'"kind":"emptied"', b'"kind":"retired"')

    assert read_entry(data)["kind"] == "retired"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"seq":7', b'"seq": 7'),
        (b'"seq":7', b'"seq":7.0'),
        (b'"seq":7', b'"seq":7e0'),
        (b'"seq":7', b'"seq":NaN'),
        (b'"seq":7', b'"seq":8,"seq":7'),
        (b'"v":1', b'"v":2'),
        (b'"files":[],', b""),
        (b'"searched":true', b'"searched":null'),
        (b'"searched":true', b'"\\u0073earched":true'),
        (b'"searched":true', b'"note":"e\xcc\x81","searched":true'),
        (b'"searched":true', b'"searched":\xff'),
        (b'"searched":true', b'"searched":0.5'),
        (b'"searched":true', b'"searched":Infinity'),
        (b'{"body"', b'[{"body"'),
    ],
)
def test_bytes_that_are_not_canonical_are_no_entry(old, new):
    data = entry_bytes(EMPTIED)
    assert old in data

    with pytest.raises(EntryUnreadable):
        read_entry(data.replace(old, new))


def test_bytes_too_long_for_an_entry_are_refused_unread():
    data = entry_bytes(changed(reason="x")).replace(b'"x"', b'"' + b"x" * 70_000 + b'"')

    with pytest.raises(EntryUnreadable, match="too long"):
        read_entry(data)


@pytest.mark.parametrize(
    "data", [b"", b"7", b"[]", b"{}", b"[" * 60_000, b'{"a":' * 20_000, b" " * 70_000]
)
def test_bytes_that_are_no_object_of_the_envelope_are_no_entry(data):
    with pytest.raises(EntryUnreadable):
        read_entry(data)


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")))
def test_any_text_is_kept_and_read_back_the_same(text):
    data = entry_bytes(changed(reason=text))

    assert entry_bytes(read_entry(data)) == data
    assert json.loads(data) == read_entry(data)


def test_the_digest_of_an_erasable_text_is_pinned():
    digest = salted_digest(bytes(range(16)), "Ada")

    assert digest == "9beed544dd50161803d7f8ef26c9ce9191680d1711e91ff0941d020d77bb05c2"


def test_the_digest_of_a_text_depends_on_the_salt_and_the_text():
    one, other = bytes(16), bytes(15) + b"\x01"

    assert salted_digest(one, "Ada") != salted_digest(other, "Ada")
    assert salted_digest(one, "Ada") != salted_digest(one, "Ben")
    assert salted_digest(one, "é") == salted_digest(one, "e\u0301")


def test_a_salt_that_could_be_guessed_is_refused():
    with pytest.raises(ValueError, match="at least 16 bytes"):
        salted_digest(bytes(15), "Ada")
