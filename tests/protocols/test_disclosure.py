"""What a certificate says of a batch whether anybody likes it or not."""

from zoneinfo import ZoneInfo

import pytest

from protocols.deviations import EFFECTS
from protocols.disclosure import RULES, certified_moves, remarks
from protocols.values import Placing, Readiness, Reason, State, Verdict
from tests.protocols.story import Story, hour, stay

BERLIN = ZoneInfo("Europe/Berlin")
READY = Readiness(State.READY)


@pytest.fixture
def story():
    """Placed Tue 5 Jan 2027 09:00, moved once on time after 71 h."""
    told = Story()
    told.placed()
    told.moved(71)
    return told


def test_moves_on_time_are_told_without_remarks(story):
    story.moved(142)

    found = story.judged(150)

    assert [(one.at, one.verdict) for one in certified_moves(found)] == [
        (hour(71), Verdict.ON_TIME),
        (hour(142), Verdict.ON_TIME),
    ]
    assert not any(one.restarted for one in certified_moves(found))
    assert remarks(found, BERLIN) == ()


def test_a_late_move_is_told_with_the_restart_and_its_old_series(story):
    story.moved(142)
    story.moved(142 + 73)
    story.moved(142 + 73 + 71)

    found = story.judged(300)

    assert [(one.verdict, one.restarted) for one in certified_moves(found)] == [
        (Verdict.ON_TIME, False),
        (Verdict.ON_TIME, False),
        (Verdict.OVER, True),
        (Verdict.ON_TIME, False),
    ]
    assert remarks(found, BERLIN) == (
        "Series 1, begun Tue 5 Jan 2027 09:00 CET, ended Thu 14 Jan 2027 08:00 CET"
        " after 2 moves: a stay was longer than its limit. It was begun anew.",
    )


def test_a_move_into_a_kit_that_was_not_ready_begins_nothing(story):
    story.moved(142)
    story.place(2, Placing(READY, Readiness(State.DIRTY)))
    story.decided(150, "kit_not_ready", stay(2), "restart")
    story.moved(142 + 71)

    found = story.judged(300)

    assert [one.restarted for one in certified_moves(found)] == [False, False, True]
    assert "after 1 move: a person decided so." in remarks(found, BERLIN)[0]


def test_what_a_person_let_count_is_told(story):
    story.place(1, Placing(READY, Readiness(State.DIRTY)))
    story.decided(72, "kit_not_ready", stay(1), "keep")

    assert remarks(story.judged(100), BERLIN) == (
        "Counted as kept, by decision of a person: a kit that was not ready"
        " (Fri 8 Jan 2027 08:00 CET).",
    )


def test_doubts_that_break_nothing_are_told_once_with_their_number(story):
    doubt = Reason("instrument_in_doubt", "instrument_in_doubt", blocks=False)
    story.moved(142)
    story.place(1, Placing(READY, READY, (doubt,)))
    story.place(2, Placing(READY, READY, (doubt,)))

    assert remarks(story.judged(150), BERLIN) == (
        "Worth knowing: a water value by an instrument in doubt (2 times).",
    )


def test_there_are_words_for_every_rule():
    assert RULES.keys() == EFFECTS.keys()
