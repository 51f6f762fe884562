"""Counts typed blind, and sums that must close."""

import pytest

from protocols.ruled import Alternative, Rules
from protocols.stays import SECOND
from protocols.typed_counts import AskedLoss, count_reasons, may_presume_lost, may_record_loss
from tests.protocols.story import hour, uid


@pytest.mark.parametrize(
    ("counts", "missing", "balance", "codes"),
    [
        ([23], 0, 23, []),
        ([22], 1, 23, []),  # with the missing it adds up: no second count
        ([24], 0, 23, ["count_again"]),
        ([22], 0, 23, ["count_again"]),
        ([23], 1, 23, ["count_again"]),
        ([24, 24], 0, 23, []),
        ([24, 23], 0, 23, []),
        ([23, 24], 0, 23, ["count_again"]),
        ([24, 25], 0, 23, ["count_again"]),
        ([24, 25, 25], 0, 23, []),
        ([24, 24, 25], 0, 23, ["count_again"]),
        ([], 0, 23, ["count_again"]),
        ([0], 23, 23, []),
        ([0], 24, 23, ["too_few_alive"]),
        ([0, 0], 24, 23, ["too_few_alive"]),
    ],
)
def test_a_count_agrees_or_stands_or_is_typed_again(counts, missing, balance, codes):
    found = count_reasons(counts, missing, balance, near_limit=False)

    assert [one.code for one in found] == codes


@pytest.mark.parametrize("counts", [[], [24], [24, 25]])
def test_near_the_limit_whatever_was_typed_is_taken(counts):
    assert count_reasons(counts, 0, 23, near_limit=True) == ()


def loss(label="R6-01", count=1, alive=4, **given):
    return AskedLoss(uid(label), label, count, alive, **given)


@pytest.mark.parametrize(("count", "codes"), [(4, []), (5, ["too_few_alive"])])
def test_no_more_die_than_are_alive(count, codes):
    assert [one.code for one in may_record_loss([loss(count=count)])] == codes


def test_the_answer_says_how_many_there_are_and_how_many_were_entered():
    (found,) = may_record_loss([loss(count=5)])

    assert found.text == "R6-01 has 4 alive; you entered 5."
    assert found.numbers == {"alive": 4, "entered": 5}
    assert found.pointer == "/lines/0/count"


def test_lines_of_one_batch_add_up_and_others_do_not():
    two = [loss(count=3), loss("R6-02", 7, 7), loss(count=2)]

    found = may_record_loss(two)

    assert [(one.code, one.pointer) for one in found] == [("too_few_alive", "/lines/0/count")]


def test_nobody_dies_in_a_closed_batch():
    assert [one.code for one in may_record_loss([loss(closed=True)])] == ["batch_closed"]


@pytest.mark.parametrize(("seconds", "codes"), [(-1, ["too_early"]), (0, []), (1, [])])
def test_a_search_gets_two_days_before_its_end_is_presumed(seconds, codes):
    found = may_presume_lost(1, 1, hour(0), rules=Rules(), at=hour(48, seconds))

    assert [one.code for one in found] == codes


def test_too_early_says_how_long_to_wait():
    (found,) = may_presume_lost(1, 1, hour(0), rules=Rules(), at=hour(47))

    assert found.numbers["wait_s"] == 3600
    assert found.instead == (Alternative("presume", begins=hour(48)),)
    assert found.instead[0].begins - hour(47) == 3600 * SECOND


def test_no_more_are_presumed_lost_than_are_missing():
    found = may_presume_lost(2, 1, hour(0), rules=Rules(), at=hour(50))

    assert [one.code for one in found] == ["too_few_alive"]
