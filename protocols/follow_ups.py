"""Values that have to be read again soon, because they were outside what animals bear."""

from collections.abc import Iterable, Iterator
from datetime import timedelta

from protocols.tasks import FollowUp
from protocols.values import Protocol, Reading, Rules

AGAIN_AFTER = timedelta(minutes=30)


def follow_ups(
    newest: Iterable[Reading], *, protocol: Protocol, rules: Rules
) -> Iterator[FollowUp]:
    """What to read again 30 minutes after a value out of range; of each quantity the newest.

    Temperature in degrees Celsius and practical salinity against the protocol's ranges, both
    ends allowed; free ammonia in mg/L against the site's alarm, which puts animals first. A
    value that is reported as NH3 is read as nitrogen: that alarms a little early.
    """
    ranges = {"temperature": protocol.temperature_c, "salinity": protocol.salinity}
    for one in newest:
        allowed = ranges.get(one.quantity)
        if allowed is not None and not allowed.holds(one.value):
            yield _again(one, alarm=False)
        if one.quantity == "free_ammonia" and one.value >= rules.nh3_n_alarm_mg_l:
            yield _again(one, alarm=True)


def _again(one: Reading, *, alarm: bool) -> FollowUp:
    return FollowUp(one.uid, one.container, one.quantity, one.at + AGAIN_AFTER, alarm=alarm)
