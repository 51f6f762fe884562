"""Facts folded into happenings: order, late entries, corrections, second accounts."""

from itertools import permutations

import pytest

from protocols.order import happenings
from protocols.ruled import Rules, RulesHistory
from protocols.told import When
from tests.protocols.story import (
    ADA,
    BATCH,
    BEN,
    START,
    container,
    hour,
    stay,
    tell,
    uid,
)

RULES = RulesHistory(((START, Rules()),))
LATER = hour(1000)


def folded(*facts, at=LATER, rules=RULES):
    return happenings(facts, at=at, rules=rules)


# -- order ----------------------------------------------------------------------------------


def test_what_happened_first_comes_first_however_it_arrived():
    facts = [tell(f"count {n}", "counted", hour(n), batch=BATCH, counts=[1]) for n in range(4)]

    orders = [[one.uid for one in folded(*given)] for given in permutations(facts)]

    assert orders == [[one.uid for one in facts]] * 24


def test_in_one_second_the_kind_decides_then_device_entry_and_uid():
    hold = tell("hold", "hold_placed", hour(1), batch=BATCH, why="")
    moved = tell("moved", "batch_moved", hour(1), batch=BATCH, ended_stay=stay(0), stay=stay(1))
    dry = tell("dry", "seen_dry", hour(1), subjects=[])
    reading = tell("reading", "reading_taken", hour(1), container=container(1))
    counts = [
        tell(name, "counted", hour(1), batch=BATCH, counts=[1], device=device, entry_no=number)
        for name, device, number in (
            ("no device", None, None),
            ("first entry", uid("tablet"), 1),
            ("second entry", uid("tablet"), 2),
        )
    ]
    expected = [reading, dry, *counts, moved, hold]

    found = folded(*reversed(expected))

    assert [one.uid for one in found] == [one.uid for one in expected]


def test_repeats_of_a_fact_change_nothing():
    fact = tell("count", "counted", hour(1), batch=BATCH, counts=[1])

    assert folded(fact, fact) == folded(fact)


@pytest.mark.parametrize(("seconds", "known"), [(-1, 0), (0, 1), (1, 1)])
def test_nothing_after_the_moment_asked_about_is_known(seconds, known):
    fact = tell("count", "counted", hour(5), batch=BATCH, counts=[1])

    assert len(folded(fact, at=hour(5, seconds))) == known


# -- late entries ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gap_s", "late"), [(0, False), (43199, False), (43200, False), (43201, True)]
)
def test_told_too_long_afterwards_the_time_is_uncertain_up_to_the_entry(gap_s, late):
    fact = tell("loss", "loss_recorded", hour(5), recorded=hour(5, gap_s), batch=BATCH)

    (found,) = folded(fact)

    assert found.late_unconfirmed is late
    assert found.when == (When(hour(5), hour(5, gap_s)) if late else When.exactly(hour(5)))
    assert found.told == When.exactly(hour(5))


def test_a_late_delivery_of_a_device_with_a_measured_clock_is_no_late_entry():
    fact = tell(
        "loss",
        "loss_recorded",
        hour(5),
        recorded=hour(50),
        batch=BATCH,
        device=uid("tablet"),
        raw_at=hour(5, -90),
        clock_offset_ms=95_400,
    )

    (found,) = folded(fact)

    assert not found.late_unconfirmed
    assert found.when.is_exact


def test_a_late_entry_on_a_measured_device_is_uncertain_up_to_its_own_stamp():
    fact = tell(
        "loss",
        "loss_recorded",
        hour(5),
        recorded=hour(50),
        batch=BATCH,
        raw_at=hour(18),
        clock_offset_ms=60_000,
    )

    (found,) = folded(fact)

    assert found.late_unconfirmed
    assert found.when == When(hour(5), hour(18, 60))


def test_an_entry_of_a_fast_clock_is_not_uncertain_backwards():
    fact = tell(
        "loss", "loss_recorded", hour(5), recorded=hour(4.9), batch=BATCH, raw_at=hour(5)
    )

    (found,) = folded(fact)

    assert found.when.is_exact


def test_a_device_whose_clock_nobody_measured_leaves_the_time_uncertain_up_to_delivery():
    fact = tell("loss", "loss_recorded", hour(5), recorded=hour(7), batch=BATCH, raw_at=hour(5))

    (found,) = folded(fact)

    assert found.when == When(hour(5), hour(7))
    assert not found.late_unconfirmed


@pytest.mark.parametrize(
    ("doer", "messenger", "sure"),
    [(BEN, BEN, True), (ADA, ADA, False), (ADA, BEN, False), (BEN, ADA, False)],
)
def test_only_a_second_person_makes_a_late_entry_sure(doer, messenger, sure):
    fact = tell("loss", "loss_recorded", hour(5), recorded=hour(30), batch=BATCH)
    word = tell("word", "confirmed", hour(31), of=fact.uid, doer=doer, messenger=messenger)

    (found,) = folded(fact, word)

    assert found.when.is_exact is sure
    assert found.late_unconfirmed is not sure


def test_whoever_delivered_a_report_is_no_second_person():
    fact = tell("loss", "loss_recorded", hour(5), recorded=hour(30), batch=BATCH, messenger=BEN)
    word = tell("word", "confirmed", hour(31), of=fact.uid, doer=BEN)

    (found,) = folded(fact, word)

    assert found.late_unconfirmed


def test_a_confirmation_counts_for_every_moment_asked_about():
    fact = tell("loss", "loss_recorded", hour(5), recorded=hour(30), batch=BATCH)
    word = tell("word", "confirmed", hour(31), of=fact.uid, doer=BEN)

    (found,) = folded(fact, word, at=hour(6))

    assert found.when.is_exact
    assert (found.confirmed_by, found.confirmed_at) == ((BEN,), hour(31))


def test_late_is_what_the_rules_of_that_day_called_late():
    strict = Rules(late_confirm_after_s=60)
    rules = RulesHistory(((START, Rules()), (hour(10), strict)))
    before = tell("one", "loss_recorded", hour(9), recorded=hour(11), batch=BATCH)
    after = tell("two", "loss_recorded", hour(10), recorded=hour(11), batch=BATCH)

    found = folded(before, after, rules=rules)

    assert [one.late_unconfirmed for one in found] == [False, True]
