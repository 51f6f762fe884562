"""What a report says after the words about it, and how many a move left behind."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.amended import in_force, left_behind
from protocols.values import Fact

AT = datetime(2027, 2, 8, 7, 40, tzinfo=UTC)
ADA, BEN = UUID(int=1), UUID(int=2)
BATCH, STAY = UUID(int=10), UUID(int=11)


def told(n, kind, body, doer=ADA, minutes=0):
    at = AT + timedelta(minutes=minutes)
    return Fact(UUID(int=n), n, kind, at, at, doer, doer, body)


def move(n, counts, doer=ADA, minutes=0, missing=0):
    body = {
        "batch": str(BATCH),
        "ended_stay": str(STAY),
        "stay": str(UUID(int=100 + n)),
        "container": str(UUID(int=20)),
        "counts": counts,
        "missing": missing,
        "readings": [],
    }
    return told(n, "batch_moved", body, doer, minutes)


LOSS = told(50, "loss_recorded", {"batch": str(BATCH), "count": 2})


def word(n, kind, of, doer=BEN, **more):
    return told(n, kind, {"of": str(of.uid), **more}, doer, minutes=n)


def test_without_words_it_says_what_it_said():
    assert in_force(LOSS, []) == LOSS.body


def test_a_correction_is_in_force_at_once():
    corrected = word(60, "fact_corrected", LOSS, doer=ADA, field="/count", old=2, new=5)

    assert in_force(LOSS, [corrected])["count"] == 5


@pytest.mark.parametrize(("doer", "stands"), [(ADA, True), (BEN, False)])
def test_only_a_second_person_takes_it_back(doer, stands):
    withdrawn = word(60, "fact_withdrawn", LOSS, doer=doer)

    assert (in_force(LOSS, [withdrawn]) is not None) is stands


def test_words_of_other_sorts_change_nothing():
    assert in_force(LOSS, [LOSS]) == LOSS.body


def test_one_account_says_how_many_it_did_not_find():
    assert left_behind([move(1, [9], missing=1)], []) == 1


def test_two_accounts_that_agree_left_nobody_behind():
    assert left_behind([move(1, [10]), move(2, [10], BEN, minutes=5)], []) == 0


def test_of_two_that_differ_the_difference_was_left_behind():
    assert left_behind([move(1, [10]), move(2, [8, 8], BEN, minutes=5)], []) == 2


def test_of_two_that_differ_one_may_be_taken_back():
    second = move(2, [8, 8], BEN, minutes=5)

    assert left_behind([move(1, [10]), second], [word(60, "fact_withdrawn", second, ADA)]) == 0
