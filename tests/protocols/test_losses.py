"""What may be said of animals lost, found, born, returned, and of signs seen on them."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.losses import (
    Living,
    LossTimes,
    certificate_covers,
    has_reason,
    is_settled,
    may_add,
    may_be_found_then,
    may_find,
    may_return,
    may_show_sign,
    may_touch,
)

NOW = datetime(2027, 2, 8, 7, 40, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
R6_01 = Living("R6-01", alive=4)
CLOSED = Living("R6-01", alive=0, closed=True)
ONE, TWO = UUID(int=1), UUID(int=2)


def codes(reasons):
    return [(reason.code, reason.pointer) for reason in reasons]


def test_a_death_lies_between_last_seen_and_found():
    told = [LossTimes(found_at=NOW - 5 * MINUTE, last_seen_at=NOW - 765 * MINUTE)]

    assert codes(may_be_found_then(told, now=NOW)) == []


def test_found_and_last_seen_may_be_one_moment_and_that_may_be_now():
    told = [LossTimes(found_at=NOW, last_seen_at=NOW)]

    assert codes(may_be_found_then(told, now=NOW)) == []


def test_every_impossible_time_is_named_at_its_line():
    told = [
        LossTimes(found_at=NOW),
        LossTimes(found_at=NOW + MINUTE),
        LossTimes(found_at=NOW, last_seen_at=NOW + MINUTE),
    ]

    assert codes(may_be_found_then(told, now=NOW)) == [
        ("in_future", "/lines/1/found_at"),
        ("contradicts_record", "/lines/2/last_seen_at"),
    ]


@pytest.mark.parametrize(
    ("still", "presumed", "count", "expected"),
    [
        (2, 0, 2, []),
        (0, 2, 2, []),
        (1, 1, 2, []),
        (1, 1, 3, [("contradicts_record", "/count")]),
        (0, 0, 1, [("contradicts_record", "/count")]),
    ],
)
def test_no_more_are_found_than_were_missed(still, presumed, count, expected):
    assert codes(may_find(still, presumed, count)) == expected


@pytest.mark.parametrize(
    ("living", "affected", "expected"),
    [
        (R6_01, 4, []),
        (R6_01, 5, [("too_few_alive", "/affected")]),
        (CLOSED, 1, [("batch_closed", None)]),
    ],
)
def test_a_sign_is_seen_on_animals_that_live(living, affected, expected):
    assert codes(may_show_sign(living, affected)) == expected


def test_too_few_says_both_numbers_and_where():
    [reason] = may_show_sign(R6_01, 5)

    assert reason.text == "R6-01 has 4 alive; you entered 5."
    assert reason.numbers == {"alive": 4, "entered": 5}


def test_nobody_is_born_where_nobody_lives():
    assert codes(may_add(R6_01)) == []
    assert codes(may_add(CLOSED)) == [("batch_closed", None)]


def test_a_contact_is_between_two():
    assert codes(may_touch(ONE, TWO)) == []
    assert codes(may_touch(ONE, ONE)) == [("unreadable", "/to")]


@pytest.mark.parametrize(
    ("returned", "count", "expected"),
    [(0, 4, []), (3, 1, []), (3, 2, [("contradicts_record", "/count")])],
)
def test_no_more_come_back_than_left(returned, count, expected):
    assert codes(may_return(4, returned, count)) == expected


@pytest.mark.parametrize(
    ("state", "left", "count", "expected"),
    [
        ("valid", 4, 4, []),
        ("partly", 4, 4, []),
        ("valid", 3, 4, [("not_certifiable", "/certificate")]),
        ("suspended", 4, 4, [("not_certifiable", "/certificate")]),
        ("revoked", 4, 1, [("not_certifiable", "/certificate")]),
    ],
)
def test_a_certificate_goes_with_those_it_covers(state, left, count, expected):
    assert codes(certificate_covers(state, left, count)) == expected


def test_a_report_that_is_not_settled_is_held_against_the_batch():
    assert codes(is_settled(0)) == []
    assert codes(is_settled(1)) == [("held", None)]


@pytest.mark.parametrize("reason", [None, "", "   "])
def test_giving_animals_up_needs_a_reason(reason):
    assert codes(has_reason(reason)) == [("reason_missing", "/reason")]


def test_a_reason_is_enough():
    assert codes(has_reason("Filter opened, floor searched twice.")) == []
