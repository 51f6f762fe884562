"""Hours inside, outside and unknown."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.cover import cover, hours_below, reached_above, stretches
from protocols.judged import Reading
from protocols.ruled import Range
from protocols.told import When
from tests.protocols.story import HOUR, SECOND, container, hour, uid

ALLOWED = Range(Decimal("24.0"), Decimal("28.0"))


def read(*values):
    return [
        Reading(uid(str(hours)), container(0), "temperature", Decimal(value), hour(hours))
        for hours, value in values
    ]


def covered(*values, begins=0, ends=10):
    found = cover(read(*values), When(hour(begins), hour(ends)), allowed=ALLOWED)
    return found.inside / HOUR, found.outside / HOUR, found.unknown / HOUR


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([], (0, 0, 10)),
        ([(5, "26")], (0, 0, 10)),  # one reading says nothing about a span
        ([(0, "26"), (10, "26")], (10, 0, 0)),
        ([(0, "24.0"), (10, "24.0")], (10, 0, 0)),  # both ends of the range are inside
        ([(0, "28.0"), (10, "28.0")], (10, 0, 0)),
        ([(0, "28.1"), (10, "28.1")], (0, 10, 0)),
        ([(0, "23"), (10, "25")], (5, 5, 0)),
        ([(0, "29"), (10, "27")], (5, 5, 0)),
        ([(0, "22"), (10, "30")], (5, 5, 0)),
        ([(0, "20"), (10, "22")], (0, 10, 0)),
        ([(2, "26"), (8, "26")], (6, 0, 4)),
        ([(-2, "26"), (12, "26")], (0, 0, 10)),  # 14 h apart: the gap proves nothing
        ([(-2, "26"), (10, "26")], (10, 0, 0)),  # 12 h apart
        ([(-1, "22"), (1, "26"), (11, "26")], (10, 0, 0)),
        ([(20, "26"), (30, "26")], (0, 0, 10)),
    ],
)
def test_hours_are_inside_outside_or_unknown(values, expected):
    assert covered(*values) == expected


def test_a_part_of_a_second_counts_as_outside():
    readings = read((0, "23.5"), (3 / 3600, "26"))

    found = cover(readings, When(hour(0), hour(0, 3)), allowed=ALLOWED)

    # 2.4 s of it are inside.
    assert (found.inside, found.outside) == (2 * SECOND, 1 * SECOND)


def test_a_shorter_gap_may_be_asked_for():
    found = cover(
        read((0, "26"), (2, "26")), When(hour(0), hour(2)), allowed=ALLOWED, max_gap=HOUR
    )

    assert found.unknown == 2 * HOUR


def test_hours_below_have_no_upper_bound():
    found = hours_below(read((0, "21"), (10, "60")), When(hour(0), hour(10)), Decimal("22"))

    # 36000 s / 39
    assert found.outside == 924 * SECOND


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([(0, "29"), (6, "29")], None),
        ([(0, "29"), (6, "29"), (6.1, "29")], 6.1),
        ([(0, "29"), (6.1, "29"), (7, "29")], 6.1),
        ([(0, "28"), (9, "28")], None),
        ([(0, "29"), (3, "29"), (4, "26"), (5, "29"), (9, "29")], 9),
    ],
)
def test_it_is_known_only_by_a_reading_that_it_was_warm_too_long(values, expected):
    found = reached_above(read(*values), When(hour(0), hour(10)), Decimal("28"), 6 * HOUR)

    assert found == (None if expected is None else hour(expected))


@given(
    st.lists(
        st.tuples(
            st.integers(-20, 120),
            st.decimals("15", "35", places=1, allow_nan=False, allow_infinity=False),
        ),
        max_size=12,
        unique_by=lambda one: one[0],
    )
)
def test_every_hour_is_accounted_for_once(values):
    found = cover(
        read(*sorted((hours, str(value)) for hours, value in values)),
        When(hour(0), hour(100)),
        allowed=ALLOWED,
    )

    assert found.inside + found.outside + found.unknown == 100 * HOUR
    assert min(found.inside, found.outside, found.unknown) >= timedelta(0)


def stretched(*values, begins=0, ends=10):
    found = stretches(read(*values), When(hour(begins), hour(ends)), allowed=ALLOWED)
    return [((one.begins - hour(0)) / HOUR, one.state) for one in found]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([], [(0, "unknown")]),
        (
            [(0, "22"), (8, "30")],
            [(0, "outside"), (2, "inside"), (6, "outside"), (8, "unknown")],
        ),
        ([(2, "26"), (5, "26"), (8, "27")], [(0, "unknown"), (2, "inside"), (8, "unknown")]),
        ([(0, "24"), (10, "28")], [(0, "inside")]),
    ],
)
def test_a_span_is_cut_where_the_value_crosses_a_bound(values, expected):
    assert stretched(*values) == expected
