"""Papers beside counts, and what may be counted, delivered and applied."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.intake import (
    BoxCounted,
    BoxListed,
    boxes_close,
    line_sum,
    may_apply,
    may_count,
    may_deliver,
)
from tests.protocols.listed import read

NOON = datetime(2027, 3, 16, 12, 0, tzinfo=UTC)
THREE = (BoxListed("1", 15), BoxListed("2", 15), BoxListed("3", 10))
UNNUMBERED = (BoxListed("1", None), BoxListed("2", None))


def counted(**received):
    return [BoxCounted(box.removeprefix("b"), n, 0) for box, n in received.items()]


def codes(reasons):
    return [one.code for one in reasons]


def test_what_nobody_counted_is_not_short():
    told = line_sum(40, THREE, [])

    assert (told.short, told.over, told.counted) == (0, 0, False)
    assert [box.listed for box in told.boxes] == [15, 15, 10]


def test_what_is_short_or_over_is_pinned_to_its_box():
    told = line_sum(40, THREE, counted(b1=16, b2=13, b3=10))

    assert (told.short, told.over, told.counted) == (1, 0, True)
    assert [(box.short, box.over) for box in told.boxes] == [(0, 1), (2, 0), (0, 0)]


def test_only_boxes_that_were_opened_can_be_short():
    told = line_sum(40, THREE, counted(b2=13))

    assert (told.short, told.counted) == (2, False)


def test_a_box_the_line_is_not_printed_for_is_over_by_all_it_held():
    told = line_sum(40, THREE, counted(b1=15, b2=13, b3=10, b4=2))

    assert (told.short, told.over) == (0, 0)
    assert (told.boxes[-1].box, told.boxes[-1].listed, told.boxes[-1].over) == ("4", 0, 2)


def test_boxes_without_numbers_are_short_together_once_all_are_counted():
    first = line_sum(40, UNNUMBERED, counted(b1=15))
    both = line_sum(40, UNNUMBERED, counted(b1=15, b2=23))

    assert (first.short, first.counted) == (0, False)
    assert (both.short, both.counted) == (2, True)
    assert [(box.listed, box.short) for box in both.boxes] == [(None, 0), (None, 0)]


def test_more_than_listed_is_over_even_before_everything_is_counted():
    assert line_sum(40, UNNUMBERED, counted(b1=41)).over == 1


def test_a_whole_line_is_counted_at_once():
    told = line_sum(40, THREE, [BoxCounted(None, 38, 1)])

    assert (told.short, told.counted) == (2, True)
    assert [(box.box, box.doa, box.short) for box in told.boxes] == [(None, 1, 2)]


def test_where_no_box_is_printed_counts_by_box_add_up():
    told = line_sum(20, (), counted(b1=12, b2=9))

    assert (told.over, told.counted) == (1, True)


boxes = st.lists(st.integers(0, 30), min_size=1, max_size=5)


@given(boxes, st.data())
def test_short_less_over_is_listed_less_received_once_every_box_is_counted(listed, data):
    received = data.draw(st.lists(st.integers(0, 30), min_size=len(listed), max_size=8))
    printed = [BoxListed(str(n), one) for n, one in enumerate(listed)]
    counts = [BoxCounted(str(n), one, 0) for n, one in enumerate(received)]

    told = line_sum(sum(listed), printed, counts)

    gap = sum(listed) - sum(received)
    assert told.counted
    assert told.short - told.over == gap
    assert sum(box.short - box.over for box in told.boxes) == gap
    assert sum(box.received for box in told.boxes) == sum(received)


@pytest.mark.parametrize(
    ("count", "found"),
    [
        (BoxCounted("1", 15, 15), []),
        (BoxCounted("1", 15, 16), ["more_than_received"]),
        (BoxCounted("1", 15, 0, 16), ["more_than_received"]),
        (BoxCounted("1", 0, 0), []),
    ],
)
def test_no_more_are_dead_or_wrong_than_were_received(count, found):
    assert codes(may_count(count, (), named=True)) == found


@pytest.mark.parametrize(
    ("box", "earlier", "found"),
    [
        ("2", ["1"], []),
        ("1", ["1"], ["contradicts_record"]),
        (None, ["1"], ["contradicts_record"]),
        ("1", [None], ["contradicts_record"]),
        (None, [], []),
    ],
)
def test_a_box_is_counted_once_and_a_whole_line_instead_of_boxes(box, earlier, found):
    assert codes(may_count(BoxCounted(box, 5, 0), earlier, named=True)) == found


@pytest.mark.parametrize(
    ("ahead_s", "already", "found"),
    [
        (120, None, []),
        (121, None, ["in_future"]),
        (-60, NOON - timedelta(seconds=60), []),
        (-60, NOON, ["contradicts_record"]),
    ],
)
def test_a_consignment_comes_once_and_not_in_the_future(ahead_s, already, found):
    moment = NOON + timedelta(seconds=ahead_s)

    assert codes(may_deliver(moment, already=already, now=NOON)) == found


@pytest.mark.parametrize(
    ("boxes", "found"),
    [
        ((), []),
        (THREE, []),
        (UNNUMBERED, []),
        ((BoxListed("1", 15), BoxListed("2", None)), []),
        ((BoxListed("1", 15), BoxListed("2", 15)), ["split_sum"]),
        ((BoxListed("1", 20), BoxListed("1", 20)), ["unreadable"]),
    ],
)
def test_boxes_are_named_once_and_add_up(boxes, found):
    assert codes(boxes_close(40, boxes)) == found


def test_a_clear_list_may_be_applied():
    assert may_apply(read("Species,Qty", "Goby,5"), (), ()) == ()


def test_an_empty_list_may_not_be_applied():
    assert codes(may_apply(read("Species,Qty"), (), ())) == ["problem_open"]


def test_everything_that_stands_against_a_list_is_told_at_once():
    told = read("Box,Species,Qty,Arrival", "1,Goby,x,03/04/2027", "1,,5,04/04/2027")

    reasons = may_apply(told, (), ())

    assert codes(reasons) == ["question_open", "problem_open", "problem_open"]
    assert reasons[0].pointer == "/answers/date_order"
    assert [one.numbers["row"] for one in reasons[1:]] == [2, 3]


def test_a_problem_that_only_warns_stands_against_nothing():
    told = read("Species,Qty", "Goby,5", "Total,6")

    assert [one.code for one in told.problems] == ["sum_differs"]
    assert may_apply(told, (), ()) == ()
