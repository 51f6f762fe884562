"""How many are alive, who is unaccounted, and what closes a batch."""

import pytest

from protocols.judged import Effect, SeriesState
from tests.protocols.story import BATCH, MAX, Story, container, hour, rules_open, uid


def placed(count=24):
    story = Story()
    story.placed(count=count)
    return story


def test_losses_births_and_dispatches_change_who_is_alive():
    story = placed()
    story.lost(5, 2)
    story.lost(6, 1, fate="culled")
    story.add("born", "born_here", hour(7), batch=BATCH, count=4, estimated=False)
    story.add("sold", "animals_dispatched", hour(8), batch=BATCH, count=5, dispatch=uid("d"))

    assert [story.judged(hours).alive for hours in (4, 5, 6, 7, 8)] == [24, 22, 21, 25, 20]


@pytest.mark.parametrize("counts", [[23], [24, 23]])
def test_a_count_that_agrees_asks_nothing(counts):
    story = placed()
    story.lost(7)
    story.moved(70, counts=counts)

    assert story.judged(71).deviations == ()


@pytest.mark.parametrize("counts", [[24, 24], [22, 22], [24]])
def test_a_count_that_stands_against_the_record_is_a_question(counts):
    story = placed()
    story.lost(7)
    fact = story.moved(70, counts=counts)

    found = story.judged(71)

    (deviation,) = found.deviations
    assert (deviation.rule, deviation.cause) == ("count_differs", fact.uid)
    assert deviation.effect is Effect.ASKS
    assert deviation.numbers == {"balance": 23, "counted": counts[-1], "missing": 0}
    assert found.alive == 23
    assert found.series.state is SeriesState.UNBROKEN


def test_a_loss_told_later_settles_a_count_that_differed():
    story = placed()
    story.moved(70, counts=[23, 23])
    assert rules_open(story.judged(71)) == ["count_differs"]

    story.lost(69, recorded=hour(75))

    assert rules_open(story.judged(76)) == []


def test_a_decision_about_a_count_no_longer_covers_another_balance():
    story = placed()
    fact = story.moved(70, counts=[22, 22])
    story.decided(71, "count_differs", fact.uid, "keep")
    assert rules_open(story.judged(72)) == []

    story.lost(60, recorded=hour(73))

    assert rules_open(story.judged(74)) == ["count_differs"]


def test_a_count_between_moves_is_compared_too():
    story = placed()
    fact = story.add("count", "counted", hour(30), batch=BATCH, counts=[23])

    (deviation,) = story.judged(31).deviations

    assert (deviation.rule, deviation.cause) == ("count_differs", fact.uid)


def test_the_count_at_the_placement_is_compared_with_what_was_placed():
    story = Story()
    story.placed(count=20, counts=[19, 19])

    found = story.judged(1)

    assert (found.alive, rules_open(found)) == (20, ["count_differs"])


# -- the missing ----------------------------------------------------------------------------


def one_missing():
    story = placed(12)
    fact = story.moved(70, counts=[11], missing=1)
    return story, fact


def test_who_was_not_found_is_unaccounted_and_neither_alive_nor_dead():
    story, fact = one_missing()

    found = story.judged(71)

    assert (found.alive, found.deviations) == (11, ())
    (missing,) = found.unaccounted
    assert (missing.fact, missing.count, missing.since) == (fact.uid, 1, hour(70))
    assert missing.container == container(0)


@pytest.mark.parametrize(("alive", "count"), [(True, 12), (False, 11)])
def test_who_is_found_again_is_alive_or_not(alive, count):
    story, fact = one_missing()
    story.add(
        "found",
        "found_again",
        hour(80),
        of=fact.uid,
        count=1,
        container=container(0),
        alive=alive,
    )

    found = story.judged(81)

    assert (found.alive, found.unaccounted) == (count, ())


def test_found_again_as_a_batch_of_its_own_is_not_back_here():
    story, fact = one_missing()
    story.add(
        "found",
        "found_again",
        hour(80),
        of=fact.uid,
        batch=uid("new batch"),
        count=1,
        container=container(0),
        alive=True,
    )

    found = story.judged(81)

    assert (found.alive, found.unaccounted) == (11, ())


def test_presumed_lost_nobody_is_missing_any_more_and_it_can_be_taken_back():
    story, fact = one_missing()
    story.add("presumed", "presumed_lost", hour(120), of=fact.uid, count=1, doer=MAX)
    presumed = story.judged(121)
    story.add(
        "found",
        "found_again",
        hour(130),
        of=fact.uid,
        count=1,
        container=container(0),
        alive=True,
    )
    back = story.judged(131)

    assert (presumed.alive, presumed.unaccounted) == (11, ())
    assert back.alive == 12


def test_missing_between_moves_is_missing_too():
    story = placed(12)
    story.add(
        "missing", "missing_recorded", hour(30), batch=BATCH, count=2, container=container(0)
    )

    found = story.judged(31)

    assert found.alive == 10
    assert sum(one.count for one in found.unaccounted) == 2


def test_somebody_found_who_was_missing_elsewhere_is_no_concern():
    story, _ = one_missing()
    story.add(
        "found",
        "found_again",
        hour(80),
        of=uid("another move"),
        count=1,
        container=container(0),
        alive=True,
    )
    story.add("presumed", "presumed_lost", hour(120), of=uid("another move"), count=1)

    found = story.judged(121)

    assert (found.alive, len(found.unaccounted)) == (11, 1)


# -- settled reports ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("settlement", "alive"),
    [
        ({"void": True}, 4),
        ({"attribution": [{"batch": str(BATCH), "count": 3}]}, 1),
        ({"attribution": [{"batch": str(uid("other")), "count": 5}]}, 4),
    ],
)
def test_a_report_that_did_not_fit_counts_as_it_was_settled(settlement, alive):
    story = placed(4)
    report = story.lost(10, 5)
    story.add("settled", "parked_settled", hour(20), of=report.uid, doer=MAX, **settlement)

    found = story.judged(21)

    assert (found.alive, found.state) == (alive, "moves")
