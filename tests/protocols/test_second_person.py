"""What one person cannot do alone."""

import pytest

from protocols.judged import Deviation, Effect
from protocols.second_person import may_confirm, may_decide, may_decide_account
from tests.protocols.story import ADA, BATCH, BEN, EVE, MAX, hour, tell, uid


def codes(found):
    return [one.code for one in found]


@pytest.mark.parametrize(("person", "found"), [(ADA, 1), (BEN, 1), (EVE, 0)])
def test_neither_doer_nor_messenger_confirms_a_report(person, found):
    fact = tell("loss", "loss_recorded", hour(0), doer=ADA, messenger=BEN)

    assert codes(may_confirm(person, fact)) == ["own_action"] * found


@pytest.mark.parametrize(("person", "found"), [(ADA, 1), (BEN, 1), (EVE, 0)])
def test_who_told_an_account_does_not_decide_between_them(person, found):
    accounts = [
        tell(name, "batch_moved", hour(0), doer=name_)
        for name, name_ in (("1", ADA), ("2", BEN))
    ]

    assert codes(may_decide_account(person, accounts)) == ["own_action"] * found


def deviation(**given):
    known = {"by": ADA, "numbers": {"over_s": 60}} | given
    return Deviation(BATCH, "stay_over", uid("stay"), Effect.BROKE, hour(0), **known)


@pytest.mark.parametrize(
    ("person", "agreed_by", "found"),
    [
        (MAX, (), []),
        (ADA, (), ["own_action"]),
        (ADA, (ADA,), ["own_action"]),
        (ADA, (MAX,), []),
    ],
)
def test_nobody_closes_alone_what_came_from_their_own_action(person, agreed_by, found):
    reasons = may_decide(person, deviation(), {"over_s": 60}, agreed_by=agreed_by)

    assert codes(reasons) == found


def test_what_came_from_nobodys_action_anybody_may_decide():
    assert may_decide(ADA, deviation(by=None), {"over_s": 60}) == ()


@pytest.mark.parametrize(
    ("known", "found"),
    [
        ({"over_s": 60}, []),
        ({"over_s": 61}, []),
        ({"over_s": 59}, ["known_changed"]),
        ({}, ["known_changed"]),
    ],
)
def test_a_decision_is_about_the_present_numbers(known, found):
    reasons = may_decide(MAX, deviation(), known)

    assert codes(reasons) == found
    assert [dict(one.numbers) for one in reasons] == [{"over_s": 60}] * len(found)
