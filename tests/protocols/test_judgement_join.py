"""A join: the latest start, the fewest moves, the earliest limit, and never a series back."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.joining import Member, join_effect
from tests.protocols.family import (
    JOINED,
    NINE,
    OTHER,
    THREE,
    joined,
    judged,
    part,
    placed,
    split,
)
from tests.protocols.story import BATCH, Story, container, hour, rules_open, uid

STAY = timedelta(hours=72)


def ten(*moves):
    story = Story()
    story.placed(count=10)
    for hours in moves:
        story.moved(hours, counts=[10])
    return story.facts


def gobies_join():
    """Ten with two moves; two more are put in with them after 174 h."""
    join = joined(174, [BATCH, OTHER], [OTHER], 2)
    return [*ten(71.5, 143), placed(174, OTHER, 2, 2, joins=True), join]


def test_all_share_the_latest_start_the_fewest_moves_and_the_earliest_limit():
    found = judged(JOINED, gobies_join(), 175)

    assert (found.alive, found.series.number, found.series.moves) == (12, 1, 0)
    assert found.series.started.latest == hour(174)
    assert found.earliest_end == hour(174 + 288)
    assert found.limit == hour(143 + 72)


def test_the_series_that_was_lost_stays_visible():
    found, before = (judged(one, gobies_join(), 175) for one in (JOINED, BATCH))

    assert rules_open(found) == ["joined_untreated"]
    lost = found.past_series[-1]
    assert (str(lost.state), lost.why, lost.moves) == ("broken", "joined", 2)
    assert (before.state, before.why, before.alive) == ("closed", "joined", 0)
    assert before.past_series[-1] == lost
    assert before.series is None


def test_a_join_in_an_empty_ready_container_is_a_move_of_all_who_came_in():
    facts = [*ten(71), placed(0, OTHER, 4, 5), joined(72, [BATCH, OTHER], [BATCH, OTHER], 6)]

    found = judged(JOINED, facts, 73)

    assert (found.series.moves, found.limit, found.alive) == (1, hour(72 + 72), 14)
    assert found.open_stay.container == container(6)
    assert rules_open(found) == []


def test_parts_joined_again_have_the_worse_of_both_histories():
    facts = [
        *ten(71.5),
        split(99, [part(NINE, 7, 1, stays=True), part(THREE, 3, 2)]),
        joined(110, [NINE, THREE], [THREE], 1),
    ]

    found = judged(JOINED, facts, 111)

    assert (found.series.moves, found.limit, found.alive) == (1, hour(71.5 + 72), 10)
    assert found.series.started.latest == hour(0)
    assert rules_open(found) == []


def test_taking_them_out_again_brings_no_series_back():
    apart = split(176, [part(NINE, 10, 2, stays=True), part(THREE, 2, 5)], of=JOINED)

    found = judged(NINE, [*gobies_join(), apart], 177)

    assert found.series.started.latest == hour(174)
    assert (found.series.moves, found.limit) == (0, hour(143 + 72))


def test_who_is_nowhere_cannot_be_joined():
    facts = [*ten(), joined(10, [BATCH, OTHER], [OTHER], 0)]

    assert rules_open(judged(BATCH, facts, 11)) == ["parked"]


@pytest.mark.parametrize("batch", [BATCH, OTHER, JOINED])
def test_animals_are_in_one_of_the_batches_before_and_after(batch):
    expected = {BATCH: (10, 0), OTHER: (0, 0), JOINED: (0, 12)}[batch]

    found = [judged(batch, gobies_join(), hours).alive for hours in (173, 175)]

    assert tuple(found) == expected


hours_ = st.integers(0, 200)
members = st.builds(
    Member,
    batch=st.uuids(),
    start=st.none() | hours_.map(hour),
    moves=st.integers(0, 6),
    limit=st.none() | hours_.map(hour),
    complete=st.booleans(),
)


@given(st.lists(members, min_size=2, max_size=5, unique_by=lambda one: one.batch), st.data())
def test_a_join_gains_nobody_anything(found, data):
    came_in = data.draw(st.sets(st.sampled_from([one.batch for one in found])))

    effect = join_effect(
        found, came_in=came_in, target_ready=False, at=hour(200), stay_limit=STAY
    )

    assert all(one.start is None or (effect.start or hour(900)) >= one.start for one in found)
    assert effect.moves <= min(one.moves for one in found)
    there = [one.limit for one in found if one.batch not in came_in and one.limit]
    assert effect.limit is None or all(effect.limit <= limit for limit in there)


@given(st.lists(members, min_size=2, max_size=4, unique_by=lambda one: one.batch))
def test_who_joins_does_not_depend_on_the_order_they_are_named_in(found):
    options = {"came_in": [], "target_ready": False, "at": hour(200), "stay_limit": STAY}

    there, back = join_effect(found, **options), join_effect(found[::-1], **options)

    assert replace(there, restarted=()) == replace(back, restarted=())
    assert set(there.restarted) == set(back.restarted)


@given(
    moves=st.lists(st.integers(60, 71), max_size=4),
    pause=st.integers(1, 60),
    apart=st.integers(1, 10),
    count=st.integers(1, 9),
)
def test_a_split_and_a_join_give_nobody_a_better_series(moves, pause, apart, count):
    times = [sum(moves[: n + 1]) for n in range(len(moves))]
    at = (times[-1] if times else 0) + pause
    where = len(moves)
    parts = [part(NINE, 10 - count, where, stays=True), part(THREE, count, 9)]
    facts = ten(*times)
    told = [*facts, split(at, parts), joined(at + apart, [NINE, THREE], [THREE], where)]

    alone, both = judged(BATCH, facts, at + apart + 1), judged(JOINED, told, at + apart + 1)

    assert both.alive == alone.alive == 10
    assert both.series.moves == alone.series.moves
    assert (both.limit, both.earliest_end) == (alone.limit, alone.earliest_end)
    assert uid("joined") == both.batch
