"""Second accounts of one move."""

import pytest

from protocols.order import happenings
from protocols.ruled import Rules, RulesHistory
from protocols.told import When
from tests.protocols.story import (
    ADA,
    BEN,
    EVE,
    HOUR,
    START,
    Story,
    container,
    hour,
    kit,
    tell,
    uid,
)

RULES = RulesHistory(((START, Rules()),))
LATER = hour(1000)


def folded(*facts, at=LATER, rules=RULES):
    return happenings(facts, at=at, rules=rules)


def two_accounts(minutes=0, **differs):
    """Ada's and Ben's accounts of one move."""
    story = Story()
    story.placed()
    story.moved(70)
    story.moved_again(
        70 + minutes / 60, **({"container": container(1), "kit": kit(1)} | differs)
    )
    return story.facts[1:]


@pytest.mark.parametrize(
    ("minutes", "differs"), [(0, False), (15, False), (15 + 1 / 60, True), (-16, True)]
)
def test_equal_accounts_a_quarter_of_an_hour_apart_are_one_move(minutes, differs):
    accounts = two_accounts(minutes)

    (found,) = folded(*accounts)

    times = sorted(one.performed_at for one in accounts)
    assert found.when == When(times[0], times[1])
    assert found.differs is differs
    assert {one.uid for one in found.accounts} == {one.uid for one in accounts}


@pytest.mark.parametrize(
    "differs",
    [
        {"counts": [19]},
        {"container": container(8)},
        {"kit": kit(8)},
        {"missing": 1},
    ],
)
def test_accounts_with_other_data_differ(differs):
    (found,) = folded(*two_accounts(2, **differs))

    assert found.differs


def test_of_a_count_typed_twice_only_the_last_must_agree():
    (found,) = folded(*two_accounts(2, counts=[21, 20]))

    assert not found.differs


@pytest.mark.parametrize(("decider", "decided"), [(EVE, True), (ADA, False), (BEN, False)])
def test_somebody_who_told_neither_account_decides(decider, decided):
    first, second = two_accounts(30, counts=[19])
    word = tell(
        "word",
        "account_decided",
        hour(80),
        happening=first.uid,
        accepted=second.uid,
        doer=decider,
    )

    (found,) = folded(first, second, word)

    assert found.differs is not decided
    assert found.when.is_exact is decided
    assert found.body["counts"] == ([19] if decided else [20])
    assert found.uid == first.uid


def test_a_decision_for_an_account_of_something_else_decides_nothing():
    first, second = two_accounts(30)
    word = tell(
        "word",
        "account_decided",
        hour(80),
        happening=first.uid,
        accepted=uid("elsewhere"),
        doer=EVE,
    )

    assert folded(first, second, word)[0].differs


def test_the_next_move_may_name_the_stay_as_either_account_did():
    first, second = two_accounts(2)
    story = Story(stays=2)
    after = story.moved(130, ended_stay=second.body["stay"])

    found = folded(after, second, first)

    assert [one.uid for one in found] == [first.uid, after.uid]
    assert found[1].body["ended_stay"] == first.body["stay"]


def test_second_accounts_of_two_moves_in_a_row_meet_whatever_stays_they_name():
    first, second = two_accounts(2)
    story = Story(stays=2)
    after = story.moved(130, ended_stay=first.body["stay"])
    told_again = story.moved_again(
        130,
        ended_stay=second.body["stay"],
        container=container(2),
        kit=kit(2),
        stay=uid("another stay of Ben"),
    )

    found = folded(told_again, second, after, first)

    assert [len(one.accounts) for one in found] == [2, 2]
    assert not any(one.differs for one in found)


def test_words_about_the_second_account_point_to_the_one_happening():
    first, second = two_accounts(2)
    again = tell(
        "again",
        "found_again",
        hour(90),
        of=second.uid,
        count=1,
        container=container(0),
        alive=True,
    )

    found = folded(first, second, again)

    assert found[1].body["of"] == str(first.uid)


def test_a_contradicted_move_differs_until_it_is_decided():
    (told, _) = two_accounts()
    no = tell("no", "fact_contradicted", hour(71), of=told.uid, what="not then", doer=BEN)
    own = tell("own", "fact_contradicted", hour(71), of=told.uid, what="not then", doer=ADA)

    assert folded(told, no)[0].differs
    assert not folded(told, own)[0].differs


def test_moves_of_two_batches_never_merge():
    first, second = two_accounts()
    other = tell(
        "other", "batch_moved", hour(70), **{**second.body, "batch": str(uid("other"))}
    )

    assert len(folded(first, other)) == 2


def test_the_gap_of_a_happening_is_never_shorter_than_those_of_its_accounts():
    first, second = two_accounts(10)
    late = tell("late", "batch_moved", hour(70, 60), recorded=hour(90), doer=EVE, **second.body)

    (found,) = folded(first, second, late)

    assert found.when == When(hour(70), hour(90))
    assert found.late_unconfirmed
    assert found.when.latest - found.when.earliest == 20 * HOUR
