"""Values that have to be read again soon, because they were outside what animals bear."""

from collections.abc import Iterable, Iterator
from datetime import timedelta

from protocols.tasks import FollowUp
from protocols.values import Protocol, Reading

AGAIN_AFTER = timedelta(minutes=30)


def follow_ups(newest: Iterable[Reading], *, protocol: Protocol) -> Iterator[FollowUp]:
    """What to read again 30 minutes after a value out of range; of each quantity the newest.

    Temperature in degrees Celsius and practical salinity against the protocol's ranges, both
    ends allowed. What ammonia asks for is in `work_alarms.py`.
    """
    ranges = {"temperature": protocol.temperature_c, "salinity": protocol.salinity}
    for one in newest:
        allowed = ranges.get(one.quantity)
        if allowed is not None and not allowed.holds(one.value):
            yield FollowUp(one.uid, one.container, one.quantity, one.at + AGAIN_AFTER)
