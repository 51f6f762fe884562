"""Names that the service gives sort in the order in which they were given."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

from stock.names import new_uid

NOON = datetime(2027, 3, 8, 12, 0, tzinfo=UTC)


def test_names_of_one_moment_sort_as_they_were_given():
    made = [new_uid(NOON) for _ in range(1000)]

    assert all(before < after for before, after in pairwise(made))
    assert {(uid.version, uid.variant) for uid in made} == {
        (7, "specified in RFC 4122"),
    }


def test_a_later_moment_sorts_later():
    assert new_uid(NOON) < new_uid(NOON + timedelta(seconds=1))


def test_names_of_one_moment_cannot_be_counted_through():
    first, second = new_uid(NOON), new_uid(NOON)

    assert second.int - first.int > 1
