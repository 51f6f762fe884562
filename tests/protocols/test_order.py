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
    EVE,
    HOUR,
    MAX,
    START,
    Story,
    container,
    hour,
    kit,
    stay,
    tell,
    uid,
)

RULES = RulesHistory(((START, Rules()),))
LATER = hour(1000)


def folded(*facts, at=LATER, rules=RULES):
    return happenings(facts, at=at, rules=rules)


def utc(moment):
    return moment.isoformat().replace("+00:00", "Z")


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


# -- corrections ----------------------------------------------------------------------------


def corrected(of, new, hours=20, *, name="correction", doer=ADA, field="performed_at"):
    return tell(name, "fact_corrected", hour(hours), of=of.uid, field=field, new=new, doer=doer)


def test_a_corrected_time_widens_and_a_second_person_narrows_it():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH)
    change = corrected(fact, utc(hour(4)))
    word = tell("word", "confirmed", hour(21), of=change.uid, doer=BEN)

    (unsure,) = folded(fact, change)
    (sure,) = folded(fact, change, word)

    assert unsure.when == When(hour(4), hour(5))
    assert sure.when == When.exactly(hour(4))
    assert sure.told == When.exactly(hour(5))


def test_confirming_the_fact_after_its_correction_confirms_the_correction():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH)
    change = corrected(fact, utc(hour(4)))
    before = tell("early word", "confirmed", hour(19), of=fact.uid, doer=BEN)
    after = tell("word", "confirmed", hour(21), of=fact.uid, doer=BEN)

    assert not folded(fact, change, before)[0].when.is_exact
    assert folded(fact, change, after)[0].when == When.exactly(hour(4))


def test_a_correction_after_a_confirmed_one_widens_again():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH)
    first = corrected(fact, utc(hour(4)))
    word = tell("word", "confirmed", hour(21), of=first.uid, doer=BEN)
    second = corrected(fact, utc(hour(3)), 22, name="second correction")

    (found,) = folded(second, word, fact, first)

    assert found.when == When(hour(3), hour(4))


def test_a_corrected_field_holds_at_once_and_stays_unclear_until_confirmed():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH, count=2, cause=["jump", "lid"])
    change = corrected(fact, 1, field="/count")
    deep = corrected(fact, "heater", field="cause/1", name="deep")
    word = tell("word", "confirmed", hour(21), of=change.uid, doer=BEN)

    (found,) = folded(fact, change, deep, word)

    assert found.body["count"] == 1
    assert found.body["cause"] == ["jump", "heater"]
    assert found.unclear == ("cause",)
    assert fact.body["count"] == 2


@pytest.mark.parametrize("field", ["cause/1", "cause/9", "cause/x", "count/0"])
def test_a_correction_of_what_is_not_there_changes_nothing(field):
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH, count=2, cause=["jump"])

    (found,) = folded(fact, corrected(fact, "x", field=field))

    assert found.body == fact.body


def test_a_correction_to_no_moment_leaves_the_time():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH)

    (found,) = folded(fact, corrected(fact, "yesterday"))

    assert found.when == When.exactly(hour(5))


# -- withdrawals ----------------------------------------------------------------------------


@pytest.mark.parametrize(("doer", "left"), [(BEN, 0), (ADA, 1)])
def test_only_a_second_person_takes_a_report_back(doer, left):
    fact = tell("sign", "sign_seen", hour(5), batch=BATCH)
    back = tell("back", "fact_withdrawn", hour(6), of=fact.uid, doer=doer)

    assert len(folded(fact, back)) == left


def test_ones_own_withdrawal_counts_once_somebody_agrees():
    fact = tell("sign", "sign_seen", hour(5), batch=BATCH)
    back = tell("back", "fact_withdrawn", hour(6), of=fact.uid, doer=ADA)
    word = tell("word", "confirmed", hour(7), of=back.uid, doer=BEN)

    assert folded(fact, back, word) == ()


def test_an_agreement_that_was_taken_back_agrees_to_nothing():
    fact = tell("sign", "sign_seen", hour(5), batch=BATCH)
    back = tell("back", "fact_withdrawn", hour(6), of=fact.uid, doer=ADA)
    word = tell("word", "confirmed", hour(7), of=back.uid, doer=BEN)
    own = tell("own word", "confirmed", hour(7), of=back.uid, doer=ADA)
    no = tell("no", "fact_withdrawn", hour(8), of=word.uid, doer=MAX)

    assert len(folded(fact, back, word, no)) == 1
    assert len(folded(fact, back, own)) == 1


def test_a_withdrawal_can_be_withdrawn():
    fact = tell("sign", "sign_seen", hour(5), batch=BATCH)
    back = tell("back", "fact_withdrawn", hour(6), of=fact.uid, doer=BEN)
    again = tell("again", "fact_withdrawn", hour(7), of=back.uid, doer=MAX)

    assert [one.uid for one in folded(fact, back, again)] == [fact.uid]


def test_words_that_withdraw_each_other_end_nowhere_but_end():
    fact = tell("sign", "sign_seen", hour(5), batch=BATCH)
    one = tell("one", "fact_withdrawn", hour(6), of=uid("two"), doer=BEN)
    two = tell("two", "fact_withdrawn", hour(6), of=uid("one"), doer=MAX)

    assert [each.uid for each in folded(fact, one, two)] == [fact.uid]


def test_a_withdrawn_correction_no_longer_widens():
    fact = tell("loss", "loss_recorded", hour(5), batch=BATCH)
    change = corrected(fact, utc(hour(4)))
    back = tell("back", "fact_withdrawn", hour(21), of=change.uid, doer=BEN)

    assert folded(fact, change, back)[0].when.is_exact


# -- second accounts ------------------------------------------------------------------------


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
