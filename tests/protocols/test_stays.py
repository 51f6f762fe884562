"""The verdict on a stay whose beginning and end may be uncertain."""

import pytest

from protocols.judged import Verdict
from protocols.stays import SECOND, Outcome, outcome
from protocols.told import When
from tests.protocols.story import hour

LIMIT = hour(72)
ON_TIME, WITHIN, UNPROVEN, OVER = (
    Verdict.ON_TIME,
    Verdict.WITHIN_TOLERANCE,
    Verdict.UNPROVEN,
    Verdict.OVER,
)


def ended(first_s, last_s):
    """From and to so many seconds after the limit."""
    return When(hour(72, first_s), hour(72, last_s))


@pytest.mark.parametrize(
    ("width_s", "first_s", "last_s", "tolerance_s", "verdict", "over_s"),
    [
        # Both ends known.
        (0, 0, 0, 0, ON_TIME, 0),
        (0, 1, 1, 0, OVER, 1),
        (0, 60, 60, 60, WITHIN, 60),
        (0, 61, 61, 60, OVER, 61),
        # The end uncertain.
        (0, -60, 0, 0, ON_TIME, 0),
        (0, -60, 1, 0, UNPROVEN, 1),
        (0, 0, 1, 0, UNPROVEN, 1),
        (0, 1, 2, 0, OVER, 2),
        (0, -60, 60, 60, WITHIN, 60),
        (0, 60, 61, 60, UNPROVEN, 61),
        (0, 61, 62, 60, OVER, 62),
        # The beginning uncertain: begun later, the stay was shorter.
        (60, 0, 0, 0, ON_TIME, 0),
        (60, 60, 60, 0, UNPROVEN, 60),
        (60, 61, 61, 0, OVER, 61),
        (60, 90, 90, 30, UNPROVEN, 90),
        (60, 91, 91, 30, OVER, 91),
    ],
)
def test_over_is_said_only_where_it_is_certain(
    width_s, first_s, last_s, tolerance_s, verdict, over_s
):
    began = When(hour(0), hour(0, width_s))

    found = outcome(began, ended(first_s, last_s), LIMIT, tolerance_s * SECOND)

    assert found == Outcome(verdict, over_s * SECOND)


@pytest.mark.parametrize(
    ("verdict", "fine"),
    [(None, True), (ON_TIME, True), (WITHIN, True), (UNPROVEN, False), (OVER, False)],
)
def test_within_tolerance_is_fine(verdict, fine):
    assert Outcome(verdict).is_fine is fine
