"""Which numbers a decision covers, and what each rule does."""

import pytest

from protocols.deviations import EFFECTS, MAKES_UNPROVEN, covers, not_ready_numbers
from protocols.judged import Effect, Readiness, State
from tests.protocols.story import hour


@pytest.mark.parametrize(
    ("known", "present", "covered"),
    [
        ({"over_s": 60}, {"over_s": 60}, True),
        ({"over_s": 60}, {"over_s": 59}, True),
        ({"over_s": 60}, {"over_s": 61}, False),
        ({"over_s": "60"}, {"over_s": 60}, False),
        ({}, {"over_s": 60}, False),
        ({"dry_s": 60}, {"dry_s": 60}, True),
        ({"dry_s": 60}, {"dry_s": 61}, True),
        ({"dry_s": 60}, {"dry_s": 59}, False),
        ({"state": "dirty"}, {"state": "dirty"}, True),
        ({"state": "drying"}, {"state": "dirty"}, False),
        ({"balance": 23, "counted": 24}, {"balance": 23, "counted": 24}, True),
        ({"balance": 22, "counted": 24}, {"balance": 23, "counted": 24}, False),
        ({}, {"way": "tool"}, True),  # only describes
        ({"stay_s": 1, "over_s": 60}, {"stay_s": 2, "over_s": 60}, True),
        ({"anything": 1}, {}, True),
    ],
)
def test_a_decision_covers_numbers_that_are_not_worse(known, present, covered):
    assert covers(known, present) is covered


def test_only_questions_make_a_series_unproven():
    assert {EFFECTS[rule] for rule in MAKES_UNPROVEN} == {Effect.ASKS}


@pytest.mark.parametrize(
    ("found", "numbers"),
    [
        (Readiness(State.DIRTY, hour(1)), {"state": "dirty"}),
        (
            Readiness(State.DRYING, hour(1), hour(25)),
            {"state": "drying", "dry_s": 7200, "needed_s": 86400},
        ),
    ],
)
def test_of_what_was_drying_it_is_known_for_how_long(found, numbers):
    assert not_ready_numbers(found, hour(3)) == numbers
