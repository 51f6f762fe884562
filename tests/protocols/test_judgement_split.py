"""A split: a batch for every part, each with the history of all."""

import pytest

from protocols.judged import Placing, Readiness, State
from tests.protocols.family import NINE, OTHER, THREE, judged, moved, part, placed, split
from tests.protocols.story import (
    BATCH,
    Story,
    container,
    hour,
    kit,
    rules_open,
    stay,
    tell,
    uid,
)

NOT_READY = Placing(Readiness(State.DIRTY), Readiness(State.READY))


def tangs():
    """Twelve, moved once after 71.5 h; 27.5 h later three go elsewhere."""
    story = Story()
    story.placed(count=12)
    story.moved(71.5, counts=[12])
    parts = [part(NINE, 9, 1, stays=True), part(THREE, 3, 2)]
    return [*story.facts, split(99, parts)]


@pytest.mark.parametrize(
    ("batch", "moves", "limit", "alive"), [(NINE, 1, 71.5 + 72, 9), (THREE, 2, 99 + 72, 3)]
)
def test_who_goes_elsewhere_makes_a_move_and_who_stays_does_not(batch, moves, limit, alive):
    found = judged(batch, tangs(), 100)

    assert (found.series.moves, found.limit, found.alive) == (moves, hour(limit), alive)
    assert found.series.started.latest == hour(0)
    assert found.earliest_end == hour(288)
    assert rules_open(found) == []


def test_the_parent_is_closed_by_the_split_and_nobody_is_left_in_it():
    found = judged(BATCH, tangs(), 100)

    assert (found.state, found.why, found.alive) == ("closed", "split", 0)
    assert found.stays[-1].ended.latest == hour(99)


def test_a_container_that_was_not_ready_is_asked_of_those_who_went_there_only():
    places = {uid(f"stay of {THREE}"): NOT_READY}

    nine, three = (judged(one, tangs(), 100, places) for one in (NINE, THREE))

    assert rules_open(nine) == []
    assert rules_open(three) == ["container_not_ready"]


def test_the_stay_of_who_stays_is_measured_from_when_they_came():
    move = moved(144, NINE, uid(f"stay of {NINE}"), 3, 9)

    found = judged(NINE, [*tangs(), move], 145)

    assert rules_open(found) == ["stay_over"]
    assert found.stays[1].length == hour(144) - hour(71.5)


def test_a_question_of_the_parent_is_asked_of_the_parts_and_answered_by_each():
    places = {stay(1): NOT_READY}
    question = {
        "rule": "container_not_ready",
        "cause": str(stay(1)),
        "known": {"state": "dirty"},
    }
    answer = tell(
        "answer",
        "deviation_decided",
        hour(101),
        doer=uid("Max"),
        body={"batch": str(NINE), "decision": "keep", **question},
    )

    nine, three = (judged(one, [*tangs(), answer], 102, places) for one in (NINE, THREE))

    assert rules_open(nine) == []
    assert rules_open(three) == ["container_not_ready"]
    assert three.deviations[0].batch == THREE


def test_what_is_told_late_of_the_parent_counts_for_the_parts():
    late = tell(
        "contact",
        "contact_seen",
        hour(80),
        recorded=hour(101),
        **{"from": str(OTHER), "to": str(container(1)), "way": "tool"},
    )

    found = judged(THREE, [*tangs(), late], 102)

    assert rules_open(found) == ["contact_tool"]


def test_a_loss_told_as_before_the_split_is_one_of_the_part():
    """The clock that stamped it was slow: whose it was is known all the same."""
    body = {"batch": str(NINE), "fate": "dead", "count": 1, "cause": ["unknown"]}
    loss = tell("loss", "loss_recorded", hour(98), body={**body, "found_at": str(hour(98))})

    assert judged(NINE, [*tangs(), loss], 100).alive == 8


def test_a_batch_that_is_nowhere_cannot_be_split():
    facts = [split(5, [part(NINE, 9, 1, stays=True), part(THREE, 3, 2)])]

    assert rules_open(judged(BATCH, facts, 6)) == ["parked"]


def test_animals_found_later_go_on_in_the_stay_in_which_they_were_left():
    apart = uid("apart")
    found_ = {"of": "", "count": 2, "container": str(container(0)), "alive": True}
    story = Story()
    story.placed()
    move = story.moved(70, counts=[18], missing=2)
    found_ |= {"of": str(move.uid), "batch": str(apart), "stay": str(uid("stay of apart"))}
    facts = [*story.facts, tell("found", "found_again", hour(75), body=found_)]

    found, others = judged(apart, facts, 76), judged(BATCH, facts, 76)

    assert (found.alive, found.limit, found.series.moves) == (2, hour(72), 0)
    assert (found.open_stay.container, found.open_stay.began.latest) == (container(0), hour(0))
    assert rules_open(found) == ["stay_over"]
    assert (others.alive, others.series.moves, others.unaccounted) == (18, 1, ())


def test_a_batch_placed_by_itself_has_nothing_of_others():
    facts = [*tangs(), placed(50, OTHER, 4, 5)]

    found = judged(OTHER, facts, 100)

    assert (found.alive, found.series.moves, len(found.stays)) == (4, 0, 1)
    assert kit(5) == found.open_stay.kit
