"""What one person cannot do alone."""

import pytest

from protocols.accounts import is_second_person
from protocols.judged import Deviation, Effect
from protocols.second_person import (
    may_confirm,
    may_decide,
    may_decide_account,
    may_stand,
)
from tests.protocols.story import ADA, BATCH, BEN, EVE, MAX, hour, tell, uid


def codes(found):
    return [one.code for one in found]


@pytest.mark.parametrize(("person", "found"), [(ADA, 1), (BEN, 1), (EVE, 0)])
def test_neither_doer_nor_messenger_confirms_a_report(person, found):
    fact = tell("loss", "loss_recorded", hour(0), doer=ADA, messenger=BEN)

    assert codes(may_confirm(person, fact)) == ["own_action"] * found


@pytest.mark.parametrize(("person", "found"), [(ADA, 1), (BEN, 1), (EVE, 0)])
def test_who_told_an_account_does_not_decide_between_them(person, found):
    accounts = two_accounts()
    reasons = may_decide_account({MAX, person}, accounts, accounts[1].uid)

    assert codes(reasons) == ["own_action"] * found


def two_accounts():
    told = (("1", ADA), ("2", BEN))
    return [tell(name, "batch_moved", hour(0), doer=doer) for name, doer in told]


def test_only_one_of_several_accounts_of_the_move_can_stand():
    one, other = two_accounts()

    assert codes(may_decide_account({EVE}, [one], one.uid)) == ["contradicts_record"]
    assert codes(may_decide_account({EVE}, [one, other], uid("x"))) == ["contradicts_record"]


@pytest.mark.parametrize(
    ("more", "found"),
    [
        (2, []),
        (3, ["too_few_alive"]),
        (0, []),
        (-1, []),
        (-2, ["contradicts_record"]),
    ],
)
def test_an_account_stands_only_on_animals_that_are_there(more, found):
    reasons = list(may_stand(more, missing=1, alive=2))

    assert codes(reasons) == found
    assert [one.numbers["entered"] for one in reasons] == [abs(more)] * len(found)


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


def test_who_did_it_side_by_side_is_no_second_person():
    move = tell("1", "batch_moved", hour(0), doer=ADA, **{"with": [str(BEN)]})
    said = tell("2", "confirmed", hour(1), doer=BEN, of="1")
    settled = may_decide_account({BEN}, [move, two_accounts()[1]], move.uid)

    assert codes(may_confirm(BEN, move)) == ["own_action"]
    assert codes(may_confirm(EVE, move)) == []
    assert "own_action" in codes(settled)
    assert not is_second_person(said, move)


@pytest.mark.parametrize(
    ("person", "agreed_by", "found"), [(BEN, (), 1), (BEN, (EVE,), 0), (EVE, (), 0)]
)
def test_who_did_it_side_by_side_does_not_decide_it_either(person, agreed_by, found):
    one = deviation(beside=frozenset({BEN}))
    reasons = may_decide(person, one, one.numbers, agreed_by=agreed_by)

    assert codes(reasons) == ["own_action"] * found
