"""Kits, containers and water that were not as they should be; emergencies; pieces swapped."""

import pytest

from protocols.judged import Effect, Placing, Readiness, SeriesState, State
from protocols.ruled import Reason
from tests.protocols.story import (
    BATCH,
    READY,
    Story,
    container,
    hour,
    kit,
    rules_open,
    stay,
    uid,
)

FINE = Readiness(State.READY)
DIRTY = Readiness(State.DIRTY)
# Seen dry 19 h before the move at 70 h.
DRYING = Readiness(State.DRYING, hour(51), hour(75))


def moved_into(placing, *, emergency=False):
    """Placed well, then moved at 70 h into what `placing` says."""
    story = Story()
    story.placed()
    story.moved(70)
    story.place(1, placing)
    if emergency:
        story.emergency()
    return story


@pytest.mark.parametrize(
    ("placing", "rule", "numbers"),
    [
        (Placing(DIRTY, FINE), "container_not_ready", {"state": "dirty"}),
        (
            Placing(FINE, DRYING),
            "kit_not_ready",
            {"state": "drying", "dry_s": 19 * 3600, "needed_s": 24 * 3600},
        ),
    ],
)
def test_a_target_that_was_not_ready_is_a_question(placing, rule, numbers):
    found = moved_into(placing).judged(71)

    (deviation,) = found.deviations
    assert (deviation.rule, deviation.cause, deviation.effect) == (rule, stay(1), Effect.ASKS)
    assert deviation.numbers == numbers
    assert found.series.state is SeriesState.UNPROVEN


def test_the_limit_runs_from_a_move_into_what_was_not_ready():
    found = moved_into(Placing(DIRTY, FINE)).judged(71)

    assert found.limit == hour(142)
    assert (found.series.number, found.series.moves) == (1, 1)


def test_until_a_clean_placement_there_is_no_strict_end():
    story = moved_into(Placing(DIRTY, FINE))

    before = story.judged(71)
    story.moved(140)
    after = story.judged(141)

    assert (before.earliest_end, before.earliest_end_if_kept) == (None, hour(288))
    assert (after.earliest_end, after.earliest_end_if_kept) == (hour(140 + 288), hour(288))
    assert after.series.moves == 2


def test_kept_the_move_counts_as_if_all_had_been_ready():
    story = moved_into(Placing(FINE, DRYING))
    story.decided(80, "kit_not_ready", stay(1), "keep")

    found = story.judged(81)

    assert found.series.state is SeriesState.UNBROKEN
    assert found.series.moves == 1
    assert (found.earliest_end, found.earliest_end_if_kept) == (hour(288), None)


def test_restarted_nothing_counts_until_the_next_clean_placement():
    story = moved_into(Placing(FINE, DRYING))
    story.decided(80, "kit_not_ready", stay(1), "restart")

    waiting = story.judged(81)
    story.moved(140)
    running = story.judged(141)

    assert waiting.series.state is SeriesState.WAITING
    assert (waiting.series.number, waiting.series.moves, waiting.earliest_end) == (2, 0, None)
    assert [one.why for one in waiting.past_series] == ["decision"]
    assert running.series.state is SeriesState.UNBROKEN
    assert running.series.started.earliest == hour(140)


def test_waiting_the_limit_still_runs_and_five_moves_are_to_be_made():
    story = moved_into(Placing(FINE, DRYING))
    story.decided(80, "kit_not_ready", stay(1), "restart")

    found = story.judged(81)

    assert found.limit == hour(142)
    assert found.series.moves_needed == 5


def test_in_a_declared_emergency_an_unready_target_breaks_the_series():
    found = moved_into(Placing(FINE, DRYING), emergency=True).judged(71)

    assert {(one.rule, one.effect) for one in found.deviations} == {
        ("emergency_review", Effect.ASKS),
        ("kit_not_ready", Effect.BROKE),
    }
    assert found.series.state is SeriesState.WAITING
    assert found.series.number == 2
    assert found.past_series[0].why == "not_ready"
    assert found.earliest_end is None
    assert found.earliest_end_if_kept == hour(288)
    assert found.limit == hour(142)


def test_an_emergency_into_what_was_ready_is_reviewed_and_unproven_until_then():
    story = moved_into(READY, emergency=True)
    before = story.judged(71)
    story.decided(72, "emergency_review", story.facts[-1].uid, "keep")
    after = story.judged(73)

    assert rules_open(before) == ["emergency_review"]
    assert before.earliest_end is None
    assert before.series.state is SeriesState.UNPROVEN
    assert after.series.state is SeriesState.UNBROKEN
    assert after.series.moves == 1


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("loss_recorded", {"batch": BATCH, "fate": "culled", "count": 1, "cause": []}),
        ("water_changed", {"container": container(0), "make": uid("make"), "volume_l": "20"}),
        ("piece_fitted", {"kit": kit(0), "piece": uid("heater 22")}),
    ],
)
def test_whatever_was_done_here_in_an_emergency_is_reviewed(kind, body):
    story = Story()
    story.placed()
    fact = story.add("emergency", kind, hour(30), **body)
    story.emergency()
    story.places[fact.uid] = READY

    found = story.judged(31)

    assert [(one.rule, one.cause) for one in found.deviations] == [
        ("emergency_review", fact.uid)
    ]
    assert found.series.state is SeriesState.UNPROVEN


def test_an_emergency_elsewhere_is_no_concern():
    story = Story()
    story.placed()
    story.add("emergency", "fed", hour(30), container=container(5), food="mysis")
    story.emergency()

    assert story.judged(31).deviations == ()


def test_a_first_placement_into_what_was_not_ready_leaves_series_one_unproven():
    story = Story()
    story.placed()
    story.place(0, Placing(DIRTY, FINE))

    found = story.judged(1)

    assert (found.series.number, found.series.state) == (1, SeriesState.UNPROVEN)
    assert (found.earliest_end, found.earliest_end_if_kept) == (None, hour(288))


def test_a_move_without_a_kit_is_a_question():
    story = Story()
    story.placed()
    story.moved(70, body=None, kit=kit(1))
    story.facts[-1].body.pop("kit")

    found = story.judged(71)

    assert [(one.rule, one.numbers) for one in found.deviations] == [
        ("kit_not_ready", {"state": "incomplete"})
    ]
    assert found.open_stay.kit is None


def test_once_complete_open_questions_only_block_the_certificate():
    story = Story()
    story.placed()
    for one in (72, 144, 216, 288):
        story.moved(one)
    story.moved(400)
    story.place(5, Placing(DIRTY, FINE))

    found = story.judged(401)

    assert rules_open(found) == ["container_not_ready", "hours_unknown"]
    assert found.series.state is SeriesState.COMPLETE
    assert (found.state, found.series.moves) == ("observation", 4)


def test_an_open_question_of_the_series_does_not_hinder_its_completion():
    story = moved_into(Placing(DIRTY, FINE))
    for one in (142, 214, 286, 288):
        story.moved(one)

    found = story.judged(289)

    assert found.series.state is SeriesState.COMPLETE
    assert rules_open(found) == ["container_not_ready", "hours_unknown"]


def test_a_complete_series_that_was_restarted_waits_for_a_clean_placement():
    story = Story()
    story.placed()
    for one in (72, 144, 216, 288):
        story.moved(one)
    story.moved(400)
    story.place(5, Placing(DIRTY, FINE))
    story.decided(410, "container_not_ready", stay(5), "restart")

    waiting = story.judged(411)
    story.moved(420)
    running = story.judged(421)

    assert (waiting.state, waiting.stage, waiting.observation) == ("moves", "moves", None)
    assert waiting.series.state is SeriesState.WAITING
    assert [(one.moves, one.why) for one in waiting.past_series] == [(4, "decision")]
    assert running.series.started.earliest == hour(420)
    assert running.limit == hour(492)


def test_a_late_move_into_what_was_not_ready_breaks_once_and_stays_unproven():
    story = Story()
    story.placed()
    story.moved(73)
    story.place(1, Placing(DIRTY, FINE))

    found = story.judged(74)

    assert rules_open(found) == ["container_not_ready", "stay_over"]
    assert [(one.number, one.why) for one in found.past_series] == [(1, "late")]
    assert (found.series.number, found.series.state) == (2, SeriesState.UNPROVEN)
    assert (found.earliest_end, found.earliest_end_if_kept) == (None, hour(288))


@pytest.mark.parametrize(
    ("code", "rule"),
    [
        ("water_mismatch", "water_mismatch"),
        ("reading_missing", "reading_missing"),
        ("reading_old", "reading_missing"),
        ("instrument_failed", "instrument_in_doubt"),
        ("instrument_in_doubt", "instrument_in_doubt"),
        ("out_of_range", "out_of_range"),
    ],
)
def test_what_was_wrong_with_the_water_warns(code, rule):
    reason = Reason(code, code, numbers={"quantity": "salinity"})

    found = moved_into(Placing(FINE, FINE, (reason,))).judged(71)

    assert [(one.rule, one.cause, one.effect) for one in found.deviations] == [
        (rule, stay(1), Effect.WARNS)
    ]
    assert found.series.state is SeriesState.UNBROKEN
