"""Parked reports, and what a manager makes of them: for whom they count, or for nobody."""

from uuid import UUID

import pytest

from stock import rebuild, rejudge
from stock.apply.counts import balances
from stock.doors.counts import record_missing
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.questions import confirm_fact, correct_fact, withdraw_fact
from stock.doors.settling import PartAsked, settle_report
from stock.judging.load import judged
from stock.models import Batch, DeviationRow, Loss, Parked, Site, StayRow
from stock.queries.leaving import parked_about
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import asking, make_batch, make_container, make_person, make_shop, move
from tests.stock.telling import HAPPENED, HOUR, NOON, bear, lose

pytestmark = pytest.mark.django_db
LATER = NOON + 10 * HOUR


@pytest.fixture
def shop(db):
    return make_shop()


@pytest.fixture
def eve(shop):
    """A manager who told nothing of what is to be settled."""
    return make_person(shop, "Eve", "manager")


def too_many_lost(shop, batch, count=5, **how):
    """A report of more dead than there are; its uid."""
    lose(shop, batch, count, at=NOON + HOUR, **(HAPPENED | how))
    return Parked.objects.get(settled_by=None).fact_id


def settle(who, report, *parts, void=False, **how):
    asked = asking(who, LATER, reason="Looked at the photos.", **how)
    return settle_report(
        asked, fact=report, parts=[PartAsked(*one) for one in parts], void=void
    )


def told_again(shop, batch, stay, at):
    """An account of the move out of a stay from before anybody was there."""
    asked = MoveAsked(batch, stay.uid, make_container(shop, "R9-02"), None, (5,))
    site = Site.objects.get(uid=shop.site)
    move_batch(asking(shop.manager, at, **HAPPENED), site=site, asked=asked)


def rules_of(batch):
    return [one.rule for one in judged(batch, LATER).deviations]


def as_built(at=LATER):
    """Whether a rebuild and a new judgement give what stands there."""
    return rebuild.check(at) + rejudge.check(at) + wrong_sums()


def test_animals_of_a_report_count_for_the_batches_that_are_named(shop, eve):
    first, second = make_batch(shop, 3), make_batch(shop, 8)
    report = too_many_lost(shop, first)

    settle(eve, report, (first, 1), (second, 4))

    assert balances(first) == {"alive": 2, "dead": 1}
    assert balances(second) == {"alive": 4, "dead": 4}
    assert [judged(one, LATER).alive for one in (first, second)] == [2, 4]
    assert not DeviationRow.objects.filter(rule="parked").exists()
    assert parked_about(first) == 0
    assert as_built() == []


def test_they_are_gone_since_the_time_of_the_report(shop, eve):
    batch, other = make_batch(shop, 3), make_batch(shop, 2)
    report = too_many_lost(shop, batch)

    settle(eve, report, (batch, 3), (other, 2))

    assert {row.closed_at for row in Batch.objects.all()} == {NOON + HOUR}
    assert set(Loss.objects.values_list("found_at", "fate")) == {(NOON + HOUR, "dead")}
    assert judged(other, LATER).why == "all_lost"
    assert as_built() == []


def test_animals_missed_that_nobody_can_have_missed_there_are_presumed_lost(shop, eve):
    batch, other = make_batch(shop, 2), make_batch(shop, 6)
    record_missing(asking(shop.manager, NOON, **HAPPENED), batch=batch, count=4)
    report = Parked.objects.get().fact_id

    settle(eve, report, (batch, 1), (other, 3))

    assert balances(other) == {"alive": 3, "presumed_lost": 3}
    assert judged(batch, LATER).unaccounted == ()
    assert as_built() == []


def test_a_void_report_is_held_against_nobody_and_never_tried_again(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch)

    settle(eve, report, void=True)
    bear(shop, batch, 4, at=LATER)

    assert balances(batch) == {"alive": 7, "outside": -4}
    assert parked_about(batch) == 0
    assert judged(batch, LATER).alive == 7
    assert as_built() == []


def test_a_void_account_of_a_move_says_nothing_of_it(shop, eve):
    batch = make_batch(shop, 5)
    stay = StayRow.objects.get(batch=batch)
    move(shop, batch, (5,), at=NOON + HOUR)
    told_again(shop, batch, stay, at=NOON - 9 * HOUR)
    report = Parked.objects.get().fact_id

    settle(eve, report, void=True)

    (stayed, *_) = judged(batch, LATER).stays
    assert stayed.ended.is_exact
    assert "parked" not in rules_of(batch)
    assert as_built() == []


REFUSED = {
    "a sum that does not fit": ("split_sum", ((0, 1), (1, 3)), False),
    "more than live there": ("too_few_alive", ((0, 4), (1, 1)), False),
    "one batch twice": ("unreadable", ((1, 2), (1, 3)), False),
    "neither batches nor void": ("unreadable", (), False),
    "both": ("unreadable", ((1, 5),), True),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_and_nothing_is_kept(shop, eve, what):
    code, parts, void = REFUSED[what]
    batches = make_batch(shop, 3), make_batch(shop, 8)
    report = too_many_lost(shop, batches[0])

    with pytest.raises(Refused) as refused:
        settle(eve, report, *((batches[n], count) for n, count in parts), void=void)

    assert refused.value.code == code
    assert refused.value.reasons[0].pointer.startswith("/attribution")
    assert Parked.objects.get().settled_by is None


def test_nobody_settles_their_own_report(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch, doer=eve.uid)

    for who in (eve, shop.manager):
        with pytest.raises(Refused, match="somebody else has to settle it"):
            settle(who, report, void=True)


def test_a_report_that_fits_meanwhile_is_not_settled_even_as_happened(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch)
    bear(shop, batch, 4, at=NOON + HOUR, performed_at=NOON, **HAPPENED)

    with pytest.raises(Refused, match="It fits the record"):
        settle(eve, report, void=True, **HAPPENED)


def test_those_who_came_later_were_not_meant(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch)
    later = make_batch(shop, 9, at=NOON + 2 * HOUR)

    with pytest.raises(Refused, match="were not here yet"):
        settle(eve, report, (later, 5))


def test_a_report_of_no_loss_can_only_be_void(shop, eve):
    batch, other = make_batch(shop, 3), make_batch(shop, 4)
    move(shop, batch, (3,), at=NOON, kit=StayRow.objects.get(batch=other).kit_id)
    report = Parked.objects.get().fact_id

    with pytest.raises(Refused, match="Only animals that are lost or missing"):
        settle(eve, report, (batch, 3))
    settle(eve, report, void=True)

    assert "parked" not in rules_of(batch)
    assert as_built() == []


def test_a_corrected_count_is_the_one_that_must_fit(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch)
    asked = asking(eve, NOON + 2 * HOUR, reason="Counted the photo.")
    other = make_batch(shop, 3)
    correct_fact(asked, fact=report, field="/count", new=4)

    settle(eve, report, (batch, 2), (other, 2))

    assert balances(batch) == {"alive": 1, "dead": 2}
    assert judged(batch, LATER).alive == 1
    assert as_built() == []


def test_what_was_settled_stands_whatever_is_said_of_it_later(shop, eve):
    batch = make_batch(shop, 3)
    report = too_many_lost(shop, batch, 4)
    other = make_batch(shop, 4)
    settled = UUID(settle(eve, report, (batch, 1), (other, 3)).body["fact"]["uid"])
    said = {"reason": "It was another tank.", **HAPPENED}

    withdraw_fact(asking(eve, LATER, **said), fact=report)
    withdraw_fact(asking(shop.manager, LATER, **said), fact=settled)
    confirm_fact(asking(eve, LATER), fact=report)

    # Both words are kept and wait themselves; the counts stand.
    assert Parked.objects.filter(settled_by=None).count() == 2
    assert [balances(one)["alive"] for one in (batch, other)] == [2, 1]
    assert [judged(one, LATER).alive for one in (batch, other)] == [2, 1]
    assert as_built() == []
