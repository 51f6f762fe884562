"""Pieces fitted meanwhile, and what touched a batch."""

import pytest

from protocols.judged import SeriesState
from tests.protocols.story import (
    BATCH,
    HOUR,
    MAX,
    READY,
    Story,
    container,
    hour,
    kit,
    rules_open,
    uid,
)

# -- pieces fitted meanwhile ------------------------------------------------------------------


def swapped(**where):
    story = Story()
    story.placed()
    fact = story.add("swap", "piece_fitted", hour(30), piece=uid("heater 22"), **where)
    return story, fact


@pytest.mark.parametrize("where", [{"kit": kit(0)}, {"container": container(0)}])
def test_a_piece_that_was_not_ready_put_in_meanwhile_is_a_question(where):
    story, fact = swapped(**where)

    found = story.judged(31)

    assert [(one.rule, one.cause) for one in found.deviations] == [("heater_swapped", fact.uid)]
    assert found.series.state is SeriesState.UNPROVEN
    assert found.earliest_end is None


def test_after_a_swap_the_next_clean_placement_would_be_day_one():
    story, _ = swapped(kit=kit(0))
    story.moved(70)

    assert story.judged(71).earliest_end == hour(70 + 288)


def test_a_piece_that_was_ready_may_be_put_in():
    story, fact = swapped(kit=kit(0))
    story.places[fact.uid] = READY

    assert story.judged(31).deviations == ()


def test_a_piece_put_in_elsewhere_is_no_concern():
    story, _ = swapped(kit=kit(5))

    assert story.judged(31).deviations == ()


# -- contacts -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("way", "rule"),
    [
        ("tool", "contact_tool"),
        ("hands", "contact_tool"),
        ("water", "contact_tool"),
        ("feeding", "contact_tool"),
        ("splash", "splash_seen"),
    ],
)
@pytest.mark.parametrize("to", [BATCH, container(0)])
def test_a_contact_is_a_question_for_whom_it_reached(way, rule, to):
    story = Story()
    story.placed()
    story.add(
        "contact", "contact_seen", hour(30), **{"from": uid("other"), "to": to, "way": way}
    )

    found = story.judged(31)

    assert rules_open(found) == [rule]
    assert found.series.state is SeriesState.UNPROVEN
    assert (found.series.number, found.series.moves) == (1, 0)


@pytest.mark.parametrize("to", [uid("other"), container(1)])
def test_a_contact_that_went_elsewhere_is_no_concern(to):
    story = Story()
    story.placed()
    story.add("contact", "contact_seen", hour(30), **{"from": BATCH, "to": to, "way": "tool"})
    story.moved(70)

    assert story.judged(71).deviations == ()


def touched():
    story = Story()
    story.placed()
    story.moved(70)
    fact = story.add(
        "contact",
        "contact_seen",
        hour(90),
        **{"from": uid("other"), "to": BATCH, "way": "tool"},
    )
    return story, fact


def test_kept_after_a_contact_the_series_goes_on():
    story, fact = touched()
    story.decided(91, "contact_tool", fact.uid, "keep")

    found = story.judged(92)

    assert (found.series.state, found.series.moves) == (SeriesState.UNBROKEN, 1)


def test_restarted_after_a_contact_the_next_move_is_day_one():
    story, fact = touched()
    story.decided(91, "contact_tool", fact.uid, "restart")
    story.moved(140)

    found = story.judged(141)

    assert (found.series.number, found.series.moves) == (2, 0)
    assert found.series.started.earliest == hour(140)
    assert found.past_series[0].elapsed == 90 * HOUR


def test_an_undecided_contact_of_a_series_long_broken_does_not_haunt_the_next():
    story, _ = touched()
    story.moved(70 + 73)

    found = story.judged(144)

    assert (found.series.number, found.series.state) == (2, SeriesState.UNBROKEN)
    assert rules_open(found) == ["contact_tool", "stay_over"]


def test_whoever_brought_a_question_about_cannot_alone_close_it():
    story, fact = touched()
    own = {"doer": fact.doer, "known": {}}
    story.decided(91, "contact_tool", fact.uid, "keep", **own)
    alone = story.judged(92)
    story.decided(93, "contact_tool", fact.uid, "keep", doer=MAX)
    together = story.judged(94)

    assert rules_open(alone) == ["contact_tool"]
    assert rules_open(together) == []


def test_the_last_decision_holds():
    story, fact = touched()
    story.decided(91, "contact_tool", fact.uid, "keep")
    story.decided(95, "contact_tool", fact.uid, "restart")

    assert story.judged(96).series.state is SeriesState.WAITING
    assert story.judged(94).series.state is SeriesState.UNBROKEN


# -- who may have been there ------------------------------------------------------------------


def touches(story, to, hours, *, until=None, name="contact"):
    """A contact told by a tablet whose clock nobody measured: some time until it was told."""
    given = {"raw_at": hour(until), "recorded": hour(until)} if until else {}
    body = {"from": uid("other"), "to": to, "way": "tool"}
    return story.add(name, "contact_seen", hour(hours), **body, **given)


def test_what_touched_its_kit_touched_the_batch():
    story = Story()
    story.placed()
    touches(story, kit(0), 30)

    assert rules_open(story.judged(31)) == ["contact_tool"]


@pytest.mark.parametrize(("left", "asked"), [(30, True), (29, False)])
def test_who_left_in_the_same_second_may_have_been_touched(left, asked):
    story = Story()
    story.placed()
    story.moved(left)
    touches(story, container(0), 30)

    assert rules_open(story.judged(31)) == (["contact_tool"] if asked else [])


@pytest.mark.parametrize(("came", "asked"), [(32, True), (33, False)])
def test_who_came_while_it_may_still_have_gone_on_is_asked_about_it_once(came, asked):
    story = Story()
    story.placed()
    touches(story, container(1), 30, until=32)
    story.moved(came)

    found = story.judged(40)

    assert rules_open(found) == (["contact_tool"] if asked else [])
