"""Two accounts of one move: somebody who told neither says which of them stands."""

from uuid import UUID

import pytest

from stock import rebuild, rejudge
from stock.apply.counts import balances
from stock.doors.accounts import decide_account
from stock.doors.moves import MoveAsked, move_batch
from stock.doors.questions import withdraw_fact
from stock.judging.load import judged
from stock.models import DeviationRow, Fact, Missing, Parked, Site, StayRow, Upkeep
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import asking, make, make_batch, make_container, make_person, make_shop
from tests.stock.telling import HAPPENED, HOUR, NOON, container_of, find, lose, presume

pytestmark = pytest.mark.django_db
LATER = NOON + 10 * HOUR


@pytest.fixture
def shop(db):
    return make_shop()


@pytest.fixture
def cast(shop):
    """Who tells the second account, and who decides."""
    return make_person(shop, "Ola", "keeper"), make_person(shop, "Eve", "manager")


@pytest.fixture
def told(shop, cast):
    """Five were moved at noon, by one account; four, two minutes later, by the other one."""
    batch = make_batch(shop, 5)
    stay = StayRow.objects.get(batch=batch)
    where = make_container(shop, "R7-01"), make(shop, "kits", "K-7", needs=[])

    def tell(who, count, minutes, container=where[0]):
        asked = MoveAsked(batch, stay.uid, container, where[1], (count,))
        at = NOON + minutes * HOUR / 60
        body = move_batch(
            asking(who, at, **HAPPENED), site=Site.objects.get(uid=shop.site), asked=asked
        ).body
        return UUID(body["fact"]["uid"])

    return batch, tell


def decide(who, happening, accepted, at=LATER, **how):
    how.setdefault("reason", "Counted with both of them.")
    return decide_account(asking(who, at, **how), fact=happening, accepted=accepted)


def as_built(at=LATER):
    return rebuild.check(at) + rejudge.check(at) + wrong_sums()


@pytest.mark.parametrize(("which", "alive"), [(0, 5), (1, 4)])
def test_counts_follow_the_account_that_stands(shop, cast, told, which, alive):
    batch, tell = told
    accounts = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)
    assert balances(batch) == {"alive": 4, "unaccounted": 1}

    decide(cast[1], accounts[0], accounts[which])

    assert balances(batch)["alive"] == judged(batch, LATER).alive == alive
    assert [row.open for row in Missing.objects.all()] == [1] * (5 - alive)
    question = DeviationRow.objects.get(rule="two_accounts")
    assert (question.open, question.decided) == (False, "keep")
    assert as_built() == []


def test_the_batch_stands_where_the_account_that_stands_says(shop, cast, told):
    batch, tell = told
    other = make_container(shop, "R7-02")
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 5, 2, other)

    decide(cast[1], first, second)

    assert container_of(batch) == other
    assert judged(batch, LATER).open_stay.container == other
    states = dict(Upkeep.objects.filter(what="container").values_list("subject", "state"))
    assert states[other] == "in_use"
    assert as_built() == []


def test_where_another_batch_stands_by_now_it_cannot_be(shop, cast, told):
    _, tell = told
    other = make_container(shop, "R7-02")
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 5, 2, other)
    make_batch(shop, 3, container=other, at=NOON + HOUR)

    with pytest.raises(Refused) as refused:
        decide(cast[1], first, second)

    assert refused.value.code == "container_occupied"


def test_an_account_whose_animals_have_gone_since_is_refused_with_the_numbers(shop, cast, told):
    _, tell = told
    first, _ = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)
    presume(shop, Missing.objects.get().fact, 1, at=NOON + 72 * HOUR)

    with pytest.raises(Refused) as refused:
        decide(cast[1], first, first)

    (reason,) = refused.value.reasons
    assert (reason.code, reason.numbers) == (
        "contradicts_record",
        {"missing": 0, "entered": 1},
    )


def test_the_lower_account_needs_them_to_be_alive_now(shop, cast, told):
    batch, tell = told
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 3, 2)
    decide(cast[1], first, first)
    lose(shop, batch, 4, at=LATER + HOUR)

    with pytest.raises(Refused) as refused:
        decide(cast[1], first, second, at=LATER + 2 * HOUR)

    assert refused.value.reasons[0].numbers == {"alive": 1, "entered": 2}


def test_the_later_decision_stands(shop, cast, told):
    batch, tell = told
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)
    decide(cast[1], first, first)

    decide(cast[1], second, second, at=LATER + HOUR)

    assert balances(batch)["alive"] == judged(batch, LATER + HOUR).alive == 4
    assert as_built(LATER + HOUR) == []


def test_nobody_decides_who_told_one_of_them(shop, cast, told):
    _, tell = told
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)

    for who, how in ((shop.manager, {}), (cast[1], {"doer": cast[0].uid})):
        with pytest.raises(Refused) as refused:
            decide(who, first, second, **how)
        assert refused.value.code == "own_action"


def test_what_is_no_account_of_the_move_cannot_stand(shop, cast, told):
    batch, tell = told
    first = tell(shop.manager, 5, 0)
    placed = Fact.objects.get(kind="batch_placed", body__batch=str(batch)).uid

    for happening, accepted in ((first, first), (first, placed), (placed, placed)):
        with pytest.raises(Refused) as refused:
            decide(cast[1], happening, accepted)
        assert refused.value.code == "contradicts_record"


def test_a_decision_is_not_taken_back_but_made_anew(shop, cast, told):
    batch, tell = told
    first, _ = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)
    made = UUID(decide(cast[1], first, first).body["fact"]["uid"])

    withdraw_fact(asking(shop.manager, LATER, reason="No.", **HAPPENED), fact=made)

    assert Parked.objects.count() == 1
    assert balances(batch)["alive"] == judged(batch, LATER).alive == 5
    assert as_built() == []


def test_those_found_since_are_no_longer_missing_by_either(shop, cast, told):
    batch, tell = told
    first, second = tell(shop.manager, 5, 0), tell(cast[0], 4, 2)
    find(shop, Missing.objects.get().fact, 1, container_of(batch), at=NOON + HOUR)

    decide(cast[1], first, second)

    assert balances(batch) == {"alive": 5, "unaccounted": 0}
    assert judged(batch, LATER).alive == 5
    assert as_built() == []
