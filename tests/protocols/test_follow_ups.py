"""A value out of range is read again soon."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from protocols.follow_ups import follow_ups
from protocols.tasks import FollowUp
from protocols.values import Reading
from protocols.versions import DEFAULT, protocol

CONTAINER, READING = UUID(int=1), UUID(int=2)
AT = datetime(2027, 2, 2, 21, 10, tzinfo=UTC)


def found(quantity: str, value: str) -> list[FollowUp]:
    reading = Reading(READING, CONTAINER, quantity, Decimal(value), AT)
    return list(follow_ups([reading], protocol=protocol(DEFAULT)))


def test_a_cold_container_is_read_again_in_half_an_hour():
    (again,) = found("temperature", "23.4")

    assert again == FollowUp(READING, CONTAINER, "temperature", AT + timedelta(minutes=30))


@pytest.mark.parametrize(
    ("quantity", "value", "times"),
    [
        ("temperature", "23.9", 1),
        ("temperature", "24.0", 0),
        ("temperature", "28.0", 0),
        ("temperature", "28.1", 1),
        ("salinity", "26.9", 1),
        ("salinity", "27.0", 0),
        ("salinity", "36.0", 0),
        ("salinity", "36.1", 1),
        ("nitrate", "100", 0),
    ],
)
def test_only_what_is_out_of_range_is_read_again(quantity, value, times):
    assert len(found(quantity, value)) == times
