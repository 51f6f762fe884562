"""Values in their plain form, and the sorts of values that shapes are made of."""

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import IntEnum
from uuid import UUID

import pytest

from protocols.bodies import BodyRefused, check, plain
from protocols.values import Standing

UID = UUID("01950000-0000-7000-8000-000000000001")


class Small(IntEnum):
    TWO = 2


def test_what_programs_hold_becomes_what_a_record_keeps():
    held = {
        "uid": UID,
        "at": datetime(2027, 1, 5, 8, tzinfo=UTC),
        "standing": Standing.ASKED,
        "count": Small.TWO,
        "counts": (24, 24),
        "none": None,
        "inner": {"none": None, "text": "e\u0301"},
    }

    kept = plain(held)

    assert kept == {
        "uid": str(UID),
        "at": "2027-01-05T08:00:00Z",
        "standing": "asked",
        "count": 2,
        "counts": [24, 24],
        "inner": {"text": "é"},
    }
    assert [type(kept["standing"]), type(kept["count"])] == [str, int]
    assert plain(kept) == kept


@pytest.mark.parametrize(
    ("value", "pointer"),
    [
        (1.0, "/a/1"),
        (float("nan"), "/a/1"),
        (Decimal("25.4"), "/a/1"),
        (2**53, "/a/1"),
        (-(2**53), "/a/1"),
        (None, "/a/1"),
        (b"bytes", "/a/1"),
        ({1, 2}, "/a/1"),
        (date(2027, 1, 5), "/a/1"),
        (datetime(2027, 1, 5, 8, 0, 0, 1, tzinfo=UTC), "/a/1"),
        ("a\x00", "/a/1"),
        ("\ud800", "/a/1"),
        ({"x/y": 0.5}, "/a/1/x~1y"),
        ({"e\u0301": 1, "é": 2}, "/a/1"),
    ],
)
def test_what_would_not_be_the_same_everywhere_is_refused_at_its_place(value, pointer):
    with pytest.raises(BodyRefused) as refused:
        plain({"a": [0, value]})

    assert [one.pointer for one in refused.value.reasons] == [pointer]


def test_what_is_nested_too_deep_is_refused():
    shallow, deep = (json.loads("[" * depth + "]" * depth) for depth in (33, 900))

    assert plain(shallow) == shallow
    with pytest.raises(BodyRefused, match="too deep"):
        plain(deep)


def test_the_largest_integers_that_all_readers_agree_on_are_kept():
    assert plain([2**53 - 1, -(2**53) + 1]) == [2**53 - 1, -(2**53) + 1]


@pytest.mark.parametrize(
    ("sort", "value"),
    [
        ("decimal", "0"),
        ("decimal", "-1.40"),
        ("decimal", "25."),
        ("decimal", ".5"),
        ("wall", "00:00"),
        ("wall", "24:00"),
        ("count", 0),
        ("positive", 1),
        ("whole", -1),
        ("date", "2028-02-29"),
        ("label", "A"),
        ("label", "Rack 3, left"),
        ("text", ""),
        ("word", "total_ammonia"),
        ("any", []),
        ((0, 1), 1),
        (("keep", "void"), "void"),
        (["count"], []),
        ({"a?": "count"}, {}),
    ],
)
def test_a_value_of_its_sort_is_taken(sort, value):
    check(sort, value)


@pytest.mark.parametrize(
    ("sort", "value", "code"),
    [
        ("decimal", "", "unreadable"),
        ("decimal", ".", "unreadable"),
        ("decimal", "-", "unreadable"),
        ("decimal", "1,5", "unreadable"),
        ("decimal", "1e3", "unreadable"),
        ("decimal", "NaN", "unreadable"),
        ("decimal", " 1", "unreadable"),
        ("decimal", "1\n", "unreadable"),
        ("decimal", "٣", "unreadable"),
        ("decimal", "1234567890.0", "unreadable"),
        ("decimal", 25, "unreadable"),
        ("wall", "24:01", "unreadable"),
        ("wall", "8:30", "unreadable"),
        ("wall", "08:60", "unreadable"),
        ("count", -1, "not_positive"),
        ("count", True, "not_whole"),
        ("count", "1", "not_whole"),
        ("positive", 0, "not_positive"),
        ("date", "20280229", "unreadable"),
        ("date", "2027-02-29", "unreadable"),
        ("time", "2027-01-05T08:00Z", "unreadable"),
        ("time", 7, "unreadable"),
        ("uid", "01950000-0000-7000-8000-00000000000A", "unreadable"),
        ("uid", 7, "unreadable"),
        ("sha256", "AB" * 32, "unreadable"),
        ("label", "", "unreadable"),
        ("label", " A", "unreadable"),
        ("label", "A\nB", "unreadable"),
        ("text", 1, "unreadable"),
        ("flag", 1, "unreadable"),
        ("word", "Total", "unreadable"),
        ("object", [], "unreadable"),
        ((0, 1), True, "unreadable"),
        (("keep", "void"), "Keep", "unreadable"),
        (["count"], {}, "unreadable"),
        ({"a?": "count"}, [], "unreadable"),
    ],
)
def test_a_value_of_another_sort_is_refused(sort, value, code):
    with pytest.raises(BodyRefused) as refused:
        check(sort, value)

    assert [one.code for one in refused.value.reasons] == [code]
