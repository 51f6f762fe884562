"""Corrections and withdrawals of what was told, and who makes them count."""

import pytest

from protocols.order import happenings
from protocols.ruled import Rules, RulesHistory
from protocols.told import When
from tests.protocols.story import (
    ADA,
    BATCH,
    BEN,
    MAX,
    START,
    hour,
    tell,
    uid,
)

RULES = RulesHistory(((START, Rules()),))
LATER = hour(1000)


def folded(*facts, at=LATER, rules=RULES):
    return happenings(facts, at=at, rules=rules)


def utc(moment):
    return moment.isoformat().replace("+00:00", "Z")


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
