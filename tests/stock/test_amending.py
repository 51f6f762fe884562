"""Words about reports of animals: balances follow them, exactly as they are judged."""

from uuid import UUID

import pytest

from stock import rebuild
from stock.apply.counts import balances
from stock.doors.leaving import take_back
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.questions import confirm_fact, correct_fact, withdraw_fact
from stock.judging.load import judged
from stock.models import Batch, Dispatch, Loss, Missing, Parked, Site, StayRow
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import (
    START,
    asking,
    make,
    make_batch,
    make_container,
    make_person,
    make_shop,
    move,
)
from tests.stock.telling import (
    HAPPENED,
    HOUR,
    NOON,
    bear,
    container_of,
    dispatch,
    find,
    lose,
    miss,
    presume,
)

pytestmark = pytest.mark.django_db

LATER = NOON + HOUR
WHY = {"reason": "Counted twice."}


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def second(shop):
    """Somebody who had nothing to do with the reports."""
    return make_person(shop, "Ola", "keeper")


@pytest.fixture
def batch(shop):
    return make_batch(shop, 10)


def fact_of(answer):
    return UUID(answer.body["fact"]["uid"])


def correct(shop, fact, field, new, at=LATER, **how):
    asked = asking(shop.manager, at, **WHY, **how)
    return correct_fact(asked, fact=fact, field=field, new=new)


def withdraw(person, fact, at=LATER, **how):
    return withdraw_fact(asking(person, at, **WHY, **how), fact=fact)


def as_judged(batch, at=LATER):
    """The balances, once they are what is judged and what a rebuild gives, and add up."""
    found = balances(batch)
    assert judged(batch, at).alive == found["alive"]
    assert rebuild.check(at) == []
    assert wrong_sums() == []
    return {place: n for place, n in found.items() if n}


# -- Losses ----------------------------------------------------------------------------------


@pytest.mark.parametrize("new", [1, 4])
def test_a_corrected_loss_is_lost_as_corrected(shop, batch, new):
    fact = fact_of(lose(shop, batch, 2))

    correct(shop, fact, "/count", new)

    assert as_judged(batch) == {"alive": 10 - new, "dead": new}
    assert Loss.objects.get().count == new


def test_a_corrected_fate_is_another_place(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    correct(shop, fact, "/fate", "culled")

    assert as_judged(batch) == {"alive": 8, "culled": 2}


def test_the_last_of_two_corrections_counts(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    correct(shop, fact, "/count", 5)
    correct(shop, fact, "/count", 1)

    assert as_judged(batch) == {"alive": 9, "dead": 1}


@pytest.mark.parametrize("new", [0, "33.2", "two", None])
def test_a_correction_to_what_is_no_number_is_refused(shop, batch, new):
    fact = fact_of(lose(shop, batch, 2))

    with pytest.raises(Refused):
        correct(shop, fact, "/count", new)

    assert as_judged(batch) == {"alive": 8, "dead": 2}


def test_a_correction_to_more_than_there_are_is_refused(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    with pytest.raises(Refused) as refused:
        correct(shop, fact, "/count", 11)

    assert refused.value.code == "too_few_alive"


def test_told_as_happened_such_a_correction_is_parked_and_changes_no_judgement(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    correct(shop, fact, "/count", 11, **HAPPENED)

    assert Parked.objects.count() == 1
    assert as_judged(batch) == {"alive": 8, "dead": 2}


def test_a_loss_is_not_corrected_into_that_of_another_batch(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    with pytest.raises(Refused) as refused:
        correct(shop, fact, "/batch", str(make_batch(shop, 5)))

    assert refused.value.code == "contradicts_record"


# -- Taking back -----------------------------------------------------------------------------


def test_what_a_second_person_takes_back_did_not_happen(shop, batch, second):
    fact = fact_of(lose(shop, batch, 2))

    withdraw(second, fact)

    assert as_judged(batch) == {"alive": 10}
    assert not Loss.objects.exists()


def test_alone_nobody_takes_back_what_they_said(shop, batch):
    fact = fact_of(lose(shop, batch, 2))

    withdraw(shop.manager, fact)

    assert as_judged(batch) == {"alive": 8, "dead": 2}


def test_once_a_second_person_agrees_it_is_taken_back(shop, batch, second):
    fact = fact_of(lose(shop, batch, 2))
    taken = fact_of(withdraw(shop.manager, fact))

    confirm_fact(asking(second, LATER), fact=taken)

    assert as_judged(batch) == {"alive": 10}


def test_a_withdrawal_taken_back_leaves_the_loss(shop, batch, second):
    fact = fact_of(lose(shop, batch, 2))
    taken = fact_of(withdraw(second, fact))

    withdraw(shop.manager, taken)

    assert as_judged(batch) == {"alive": 8, "dead": 2}
    assert Loss.objects.get().fact == fact


def test_a_correction_taken_back_leaves_what_was_told_first(shop, batch, second):
    fact = fact_of(lose(shop, batch, 2))
    corrected = fact_of(correct(shop, fact, "/count", 5))

    withdraw(second, corrected)

    assert as_judged(batch) == {"alive": 8, "dead": 2}


def test_with_the_loss_of_the_last_ones_taken_back_the_batch_goes_on(shop, batch, second):
    fact = fact_of(lose(shop, batch, 10))

    withdraw(second, fact)

    assert as_judged(batch) == {"alive": 10}
    assert Batch.objects.get(uid=batch).closed_at is None
    assert StayRow.objects.get(batch=batch).ended_latest is None


def test_corrected_to_all_of_them_the_batch_closes_when_they_were_lost(shop, batch):
    fact = fact_of(lose(shop, batch, 9))

    correct(shop, fact, "/count", 10)

    assert as_judged(batch) == {"dead": 10}
    assert Batch.objects.get(uid=batch).closed_at == NOON


def test_a_parked_report_that_is_taken_back_asks_for_nothing_any_more(shop, batch, second):
    fact = fact_of(lose(shop, batch, 11, **HAPPENED))

    withdraw(second, fact)

    assert not Parked.objects.filter(settled_by=None).exists()
    assert as_judged(batch) == {"alive": 10}


# -- Missing, found, given up ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("new", "left"), [(1, {"alive": 9, "unaccounted": 1}), (5, {"alive": 5, "unaccounted": 5})]
)
def test_corrected_more_or_fewer_are_missing(shop, batch, new, left):
    missing = miss(shop, batch, 3)

    correct(shop, missing, "/count", new)

    assert as_judged(batch) == left
    assert Missing.objects.get().open == new


def test_who_was_found_since_was_missing(shop, batch, second):
    missing = miss(shop, batch, 3)
    find(shop, missing, 2, container_of(batch))

    with pytest.raises(Refused) as refused:
        withdraw(second, missing)

    assert refused.value.code == "contradicts_record"
    correct(shop, missing, "/count", 2)
    assert as_judged(batch) == {"alive": 10}


@pytest.mark.parametrize("alive", [True, False])
def test_a_finding_taken_back_leaves_them_missing(shop, batch, second, alive):
    missing = miss(shop, batch, 3)
    found = fact_of(find(shop, missing, 2, container_of(batch), alive=alive))

    withdraw(second, found)

    assert as_judged(batch) == {"alive": 7, "unaccounted": 3}
    assert (Missing.objects.get().open, Loss.objects.count()) == (3, 0)


def test_found_alive_corrected_to_dead_is_a_loss(shop, batch):
    missing = miss(shop, batch, 3)
    found = fact_of(find(shop, missing, 2, container_of(batch)))

    correct(shop, found, "/alive", False)

    assert as_judged(batch) == {"alive": 7, "unaccounted": 1, "dead": 2}


def test_a_presumption_taken_back_leaves_them_missing(shop, batch, second):
    at = NOON + 48 * HOUR
    missing = miss(shop, batch, 3)
    presumed = fact_of(presume(shop, missing, 2, at))

    withdraw(second, presumed, at)

    assert as_judged(batch, at) == {"alive": 7, "unaccounted": 3}
    assert not Loss.objects.exists()


# -- Births and leaving ----------------------------------------------------------------------


def test_births_are_corrected(shop, batch):
    fact = fact_of(bear(shop, batch, 30))

    correct(shop, fact, "/count", 20)

    assert as_judged(batch) == {"alive": 30, "outside": -20}


def test_a_dispatch_is_corrected(shop, batch):
    fact = fact_of(dispatch(shop, batch, 4))

    correct(shop, fact, "/count", 3)

    assert as_judged(batch) == {"alive": 7, "sold": 3}
    assert Dispatch.objects.get().count == 3


def test_a_dispatch_of_which_some_came_back_is_not_taken_back(shop, batch, second):
    fact = fact_of(dispatch(shop, batch, 4))
    take_back(asking(shop.manager, NOON), batch=batch, count=1, state="alive")

    with pytest.raises(Refused) as refused:
        withdraw(second, fact)

    assert refused.value.code == "contradicts_record"


def test_a_return_taken_back_leaves_them_sold(shop, batch, second):
    dispatch(shop, batch, 4)
    asked = asking(shop.manager, NOON)
    fact = fact_of(take_back(asked, batch=batch, count=1, state="alive"))

    withdraw(second, fact)

    assert as_judged(batch) == {"alive": 6, "sold": 4}
    assert Dispatch.objects.get().returned == 0


# -- Moves -----------------------------------------------------------------------------------

MOVED = START + 70 * HOUR


def moved_again(shop, person, batch, counts, at=MOVED, **changes):
    """A second account of the move, by somebody else."""
    first = StayRow.objects.exclude(ended_by=None).get(batch=batch)
    here = StayRow.objects.get(batch=batch, ended_by=None)
    asked = MoveAsked(
        batch=batch,
        ended_stay=first.uid,
        container=here.container_id,
        kit=here.kit_id,
        counts=counts,
        **changes,
    )
    told = asking(person, at, **HAPPENED)
    return move_batch(told, site=Site.objects.get(uid=shop.site), asked=asked)


def test_of_two_accounts_the_lower_is_alive_and_the_difference_unaccounted(shop, batch, second):
    move(shop, batch, (10,), at=MOVED)

    moved_again(shop, second, batch, (8, 8))

    assert as_judged(batch, MOVED) == {"alive": 8, "unaccounted": 2}


def test_a_second_account_that_does_not_fit_leaves_the_first_as_it_was(shop, batch, second):
    move(shop, batch, (10,), at=MOVED)
    dispatch(shop, batch, 6, MOVED)

    answer = moved_again(shop, second, batch, (1, 1), at=MOVED + HOUR)

    assert answer.body["fact"]["parked"]
    assert as_judged(batch, MOVED + HOUR) == {"alive": 4, "sold": 6}
    first = StayRow.objects.exclude(ended_by=None).get(batch=batch)
    assert (first.ended_earliest, first.ended_latest) == (MOVED, MOVED)


def test_the_second_account_taken_back_the_first_stands(shop, batch, second):
    move(shop, batch, (10,), at=MOVED)
    fact = fact_of(moved_again(shop, second, batch, (8, 8)))

    withdraw(shop.manager, fact, MOVED)

    assert as_judged(batch, MOVED) == {"alive": 10}


def test_how_many_a_move_did_not_find_is_corrected(shop, batch):
    fact = fact_of(move(shop, batch, (9,), missing=1, at=MOVED))

    correct(shop, fact, "/missing", 3, MOVED)

    assert as_judged(batch, MOVED) == {"alive": 7, "unaccounted": 3}


def test_a_move_taken_back_leaves_them_in_their_old_stay(shop, batch, second):
    before = StayRow.objects.get(batch=batch)
    fact = fact_of(move(shop, batch, (9,), missing=1, at=MOVED))

    withdraw(second, fact, MOVED)

    assert as_judged(batch, MOVED) == {"alive": 10}
    stay = StayRow.objects.get(batch=batch)
    assert (stay.uid, stay.ended_latest, stay.ended_by) == (before.uid, None, None)


def test_a_move_on_which_another_rests_is_not_taken_back(shop, batch, second):
    fact = fact_of(move(shop, batch, (10,), at=MOVED))
    move(shop, batch, (10,), at=MOVED + 70 * HOUR)

    with pytest.raises(Refused) as refused:
        withdraw(second, fact, MOVED + 70 * HOUR)

    assert refused.value.code == "contradicts_record"


def test_a_placement_is_not_taken_back_but_put_right(shop, batch, second):
    fact = StayRow.objects.get(batch=batch).began_by
    elsewhere = make_container(shop, "R1-09")

    with pytest.raises(Refused):
        withdraw(second, fact)
    correct(shop, fact, "/container", str(elsewhere))

    assert container_of(batch) == elsewhere
    assert as_judged(batch) == {"alive": 10}


def test_nobody_is_put_where_others_are_by_a_correction(shop, batch):
    fact = fact_of(move(shop, batch, (10,), at=MOVED))
    taken = container_of(make_batch(shop, 5))

    with pytest.raises(Refused) as refused:
        correct(shop, fact, "/container", str(taken), MOVED)

    assert refused.value.code == "container_occupied"


def test_the_kit_of_a_move_is_corrected(shop, batch):
    fact = fact_of(move(shop, batch, (10,), at=MOVED))
    kit = make(shop, "kits", "Z-9", needs=[])

    correct(shop, fact, "/kit", str(kit), MOVED)

    assert StayRow.objects.get(batch=batch, ended_by=None).kit_id == kit
    assert as_judged(batch, MOVED) == {"alive": 10}


def test_told_after_all_were_lost_a_move_ends_its_stay_and_the_next_ends_with_them(shop, batch):
    lose(shop, batch, 10, at=MOVED + HOUR)
    first = StayRow.objects.get(batch=batch)
    asked = MoveAsked(
        batch=batch,
        ended_stay=first.uid,
        container=make_container(shop, "R1-09"),
        kit=make(shop, "kits", "Z-9", needs=[]),
        counts=(10,),
    )

    told = asking(
        shop.manager, MOVED + HOUR, performed_at=MOVED, reason="No network.", **HAPPENED
    )
    move_batch(told, site=Site.objects.get(uid=shop.site), asked=asked)

    first, second = StayRow.objects.filter(batch=batch).order_by("began_latest")
    assert (first.ended_latest, second.began_latest) == (MOVED, MOVED)
    assert second.ended_latest == MOVED + HOUR
    assert as_judged(batch, MOVED + HOUR) == {"dead": 10}
