"""Rounds: what they may say, and the days of an observation that nobody looked."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.rounds import Walked, days_without, may_be_round, unwatched

A, B = UUID(int=1), UUID(int=2)
START = datetime(2027, 2, 3, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.mark.parametrize(
    ("said", "rules"),
    [
        pytest.param(Walked((A, B), ate=(A,), not_eating=(B,)), [], id="one ate, one did not"),
        pytest.param(Walked((A,), ate=(B,)), ["not_looked_at"], id="of another container"),
        pytest.param(Walked((A,), not_all_seen=(B,)), ["not_looked_at"], id="not seen there"),
        pytest.param(Walked((A,), ate=(A,), not_eating=(A,)), ["ate_and_not"], id="both"),
    ],
)
def test_what_a_round_may_say(said, rules):
    assert [one.rule for one in may_be_round(said)] == rules


def test_not_everybody_seen_is_not_seen_alive():
    walked = Walked((A, B), not_all_seen=(B,))

    assert [walked.saw_all(one) for one in (A, B)] == [True, False]


@pytest.mark.parametrize(
    ("until_h", "seen_h", "days"),
    [
        pytest.param(23, [], (), id="the first day is not over"),
        pytest.param(24, [], (1,), id="it is"),
        pytest.param(72, [1, 25, 71], (), id="every day"),
        pytest.param(72, [1, 23.5, 50], (2,), id="the second day"),
        pytest.param(72, [24, 71], (1,), id="at the turn it is the day that begins"),
        pytest.param(48, [-1, 30], (1,), id="before it began"),
    ],
)
def test_days_without_a_round(until_h, seen_h, days):
    seen = [START + hours * HOUR for hours in seen_h]

    assert days_without(START, START + until_h * HOUR, seen) == days


def test_they_warn_and_do_not_block():
    (reason,) = unwatched((2, 5))

    assert (reason.code, reason.blocks, reason.numbers) == (
        "round_missing",
        False,
        {"days": [2, 5]},
    )
    assert "days 2, 5 of the observation" in reason.text
    assert list(unwatched(())) == []
