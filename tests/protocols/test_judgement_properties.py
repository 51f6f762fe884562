"""What must hold for every story: in any order, with repeats, with second accounts."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import assume, given
from hypothesis import strategies as st

from protocols.judged import SeriesState
from protocols.order import happenings
from protocols.ruled import Rules, RulesHistory
from protocols.told import Standing
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
    uid,
)

RULES = RulesHistory(((START - HOUR, Rules()),))
PEOPLE = st.sampled_from([ADA, BEN, EVE, MAX])
STAYS = st.integers(60 * 3600, 75 * 3600)
AFTER = st.integers(0, 40 * 3600)


@st.composite
def stories(draw):
    """A true story of one batch, told by several people, some of it late or twice."""
    story = Story()
    story.placed(recorded=hour(0) + timedelta(seconds=draw(AFTER)))
    passed = 0
    for number in range(draw(st.integers(0, 7))):
        passed += draw(STAYS)
        _one_move(draw, story, passed, number)
    for number in range(draw(st.integers(0, 6))):
        _one_more(draw, story, number)
    return story


def _one_move(draw, story, passed, number):
    at = passed / 3600
    who = draw(PEOPLE)
    recorded = hour(at) + timedelta(seconds=draw(AFTER))
    counts = [draw(st.integers(18, 21))]
    fact = story.moved(at, doer=who, recorded=recorded, counts=counts)
    if draw(st.booleans()):
        apart = draw(st.integers(-1800, 1800))
        story.moved_again(
            at + apart / 3600,
            doer=draw(PEOPLE),
            counts=counts,
            container=container(number + 1),
            kit=kit(number + 1),
            stay=uid(f"stay {number} told again"),
        )
    if draw(st.booleans()):
        story.noted("confirmed", fact, at + 50, doer=draw(PEOPLE), name=f"word {number}")
    if draw(st.booleans()):
        new = (hour(at) + timedelta(seconds=draw(st.integers(-9000, 9000)))).isoformat()
        story.noted(
            "fact_corrected",
            fact,
            at + 20,
            doer=draw(PEOPLE),
            field="performed_at",
            new=new,
            name=f"correction {number}",
        )
    if draw(st.integers(0, 9)) == 0:
        story.facts[-1] = replace(story.facts[-1], standing=Standing.EMERGENCY)


def _one_more(draw, story, number):
    hours = draw(st.integers(0, 500))
    kind = draw(st.sampled_from(["loss", "sign", "contact", "count", "decision"]))
    who = draw(PEOPLE)
    name = f"{kind} {number}"
    if kind == "loss":
        story.lost(hours, name=name, doer=who)
    elif kind == "sign":
        story.signed(hours, name=name, doer=who)
    elif kind == "contact":
        body = {"from": uid("other"), "to": BATCH, "way": "tool"}
        story.add(name, "contact_seen", hour(hours), doer=who, **body)
    elif kind == "count":
        story.add(name, "counted", hour(hours), doer=who, batch=BATCH, counts=[19])
    else:
        known = {"over_s": 10**6, "stay_s": 10**6, "limit_s": 0}
        rule = draw(st.sampled_from(["stay_over", "stay_unproven"]))
        cause = stay(draw(st.integers(0, 4)))
        decision = draw(st.sampled_from(["keep", "restart", "void"]))
        story.decided(hours, rule, cause, decision, doer=who, known=known, name=name)


@given(stories(), st.data())
def test_the_order_of_arrival_and_repeats_change_nothing(story, data):
    at = data.draw(st.integers(0, 800))
    arrived = data.draw(st.permutations(story.facts))
    again = data.draw(st.lists(st.sampled_from(story.facts), max_size=5))

    assert story.judged(at, facts=[*arrived, *again]) == story.judged(at)


@given(stories(), st.integers(0, 700), st.data())
def test_a_second_account_never_shortens_a_time(story, moment, data):
    told = happenings(story.facts, at=hour(1000), rules=RULES)
    moves = [one for one in told if one.kind == "batch_moved"]
    assume(moves)
    move = data.draw(st.sampled_from(moves))
    again = replace(
        move.first,
        uid=uid("one more account"),
        doer=EVE,
        messenger=EVE,
        performed_at=hour(moment),
        recorded_at=hour(moment),
    )

    more = happenings([*story.facts, again], at=hour(1000), rules=RULES)

    after = next(one for one in more if again.uid in {fact.uid for fact in one.accounts})
    assert after.when.earliest <= move.when.earliest
    assert after.when.latest >= move.when.latest


@given(stories(), st.integers(0, 800))
def test_stays_follow_each_other_and_only_the_last_is_open(story, at):
    found = story.judged(at)

    assert all(one.ended is not None for one in found.stays[:-1])
    pairs = zip(found.stays, found.stays[1:], strict=False)
    assert all(one.ended == two.began for one, two in pairs)


@given(stories(), st.integers(0, 800))
def test_series_are_numbered_without_a_gap_and_the_current_one_is_never_broken(story, at):
    found = story.judged(at)

    numbers = [one.number for one in found.past_series]
    current = [found.series] if found.series else []
    assert [*numbers, *(one.number for one in current)] == list(
        range(1, len(numbers) + len(current) + 1)
    )
    assert all(one.state is not SeriesState.BROKEN for one in current)


@given(stories(), st.integers(0, 800))
def test_the_strict_end_is_never_before_the_lenient_one(story, at):
    found = story.judged(at)

    strict, lenient = found.earliest_end, found.earliest_end_if_kept
    assert strict is None or lenient is None or lenient <= strict


@given(stories(), st.integers(0, 800))
def test_every_animal_is_alive_lost_or_unaccounted(story, at):
    found = story.judged(at)

    told = happenings(story.facts, at=hour(at), rules=RULES)
    lost = sum(one.body["count"] for one in told if one.kind == "loss_recorded")
    missing = sum(one.count for one in found.unaccounted)
    assert found.alive + lost + missing == 20


@given(stories(), st.integers(0, 800))
def test_deviations_have_one_key_each(story, at):
    found = story.judged(at)

    keys = [(one.batch, one.rule, one.cause) for one in found.deviations]
    assert len(keys) == len(set(keys))


@given(stories(), st.integers(0, 800))
def test_a_limit_is_the_longest_stay_after_the_earliest_beginning(story, at):
    found = story.judged(at)

    assume(found.limit is not None)
    assert found.limit == found.open_stay.began.earliest + 72 * HOUR


def test_before_it_was_placed_nothing_is_known_of_a_batch():
    story = Story()
    story.placed(10)

    found = story.judged(9)

    assert (found.stays, found.alive, found.open_stay) == ((), 0, None)
    assert found.series.state is SeriesState.WAITING
