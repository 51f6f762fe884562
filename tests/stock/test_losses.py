"""Animals gone for good: how many, why, found when; and what follows when nobody is left."""

import pytest

from stock import rebuild
from stock.apply.counts import balances
from stock.doors.counts import count_batch
from stock.doors.losses import LossLine, record_losses
from stock.models import Batch, Loss, Parked, StayRow
from stock.refusals import NotFound, Refused
from stock.sums import wrong_sums
from tests.make import asking, make_batch, make_container, make_line, make_shop
from tests.stock.telling import HAPPENED, HOUR, NOON, lose, miss

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


# -- Losses ----------------------------------------------------------------------------------


@pytest.mark.parametrize("fate", ["dead", "culled", "escaped", "sampled"])
def test_each_fate_has_its_place(shop, fate):
    batch = make_batch(shop, 24)

    lose(shop, batch, 1, fate=fate)

    assert balances(batch) == {"alive": 23, fate: 1}
    assert wrong_sums() == []


def test_a_loss_with_more_than_are_alive_is_refused_with_both_numbers(shop):
    container = make_container(shop, "R6-01")
    batch = make_batch(shop, 4, container=container)

    with pytest.raises(Refused) as refused:
        lose(shop, batch, 5)

    [reason] = refused.value.reasons
    assert (reason.code, reason.text) == (
        "too_few_alive",
        "R6-01 has 4 alive; you entered 5.",
    )
    assert balances(batch) == {"alive": 4}


def test_told_as_happened_the_same_is_kept_and_parked(shop):
    batch = make_batch(shop, 4)

    answer = lose(shop, batch, 5, **HAPPENED)

    assert answer.body["fact"]["parked"]
    assert answer.body["losses"][0]["parked"]
    assert Parked.objects.get().code == "too_few_alive"
    assert (balances(batch), wrong_sums()) == ({"alive": 4}, [])


def test_what_is_parked_is_a_question_and_changes_no_judgement(shop):
    batch = make_batch(shop, 4)

    answer = lose(shop, batch, 5, **HAPPENED)

    assert [one["rule"] for one in answer.body["deviations"]] == ["parked"]
    assert answer.body["batches"][0]["state"] == "moves"


def test_lines_of_one_batch_add_up_before_they_are_compared(shop):
    batch = make_batch(shop, 4)
    lines = [LossLine(batch, fate, 3, NOON, ("unknown",)) for fate in ("dead", "culled")]

    with pytest.raises(Refused) as refused:
        record_losses(asking(shop.manager, NOON), lines=lines)

    assert refused.value.code == "too_few_alive"


def test_of_two_batches_both_are_recorded_or_none(shop):
    four, seven = make_batch(shop, 4), make_batch(shop, 7)

    with pytest.raises(Refused):
        record_losses(
            asking(shop.manager, NOON),
            lines=[
                LossLine(seven, "dead", 1, NOON, ("unknown",)),
                LossLine(four, "dead", 5, NOON, ("unknown",)),
            ],
        )

    assert (balances(four), balances(seven)) == ({"alive": 4}, {"alive": 7})
    assert not Loss.objects.exists()


def test_a_batch_of_another_shop_is_not_found(shop):
    foreign = make_batch(make_shop(), 4)

    with pytest.raises(NotFound):
        lose(shop, foreign, 1)


@pytest.mark.parametrize("name", ["origin", "incident"])
def test_where_a_loss_came_from_is_of_the_same_site(shop, name):
    batch, other = make_batch(shop, 4), make_line(make_shop())
    named = {"origin": (other,), "incident": other}[name]
    line = LossLine(batch, "dead", 1, NOON, ("jump",), **{name: named})

    with pytest.raises(NotFound):
        record_losses(asking(shop.manager, NOON), lines=[line])


def test_where_they_may_have_come_from_is_kept(shop):
    batch = make_batch(shop, 4)
    origin = Batch.objects.get(uid=batch).origins.get().line_id
    line = LossLine(batch, "dead", 1, NOON, ("disease", "velvet"), origin=(origin,))

    record_losses(asking(shop.manager, NOON), lines=[line])

    kept = Loss.objects.get()
    assert (kept.origin, kept.cause) == ([str(origin)], ["disease", "velvet"])


# -- The last one ----------------------------------------------------------------------------


def test_with_the_last_one_gone_the_stay_ends_and_the_batch_closes(shop):
    batch = make_batch(shop, 4)

    lose(shop, batch, 4)

    stay, kept = StayRow.objects.get(batch=batch), Batch.objects.get(uid=batch)
    assert (stay.ended_latest, kept.closed_at) == (NOON, NOON)
    assert (kept.state, kept.why) == ("closed", "all_lost")


def test_while_one_is_missing_the_batch_stays_open(shop):
    batch = make_batch(shop, 4)
    miss(shop, batch, 1)

    lose(shop, batch, 3)

    assert Batch.objects.get(uid=batch).closed_at is None
    assert StayRow.objects.get(batch=batch).ended_latest is None


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_the_end_is_when_the_last_went_in_whichever_order_it_is_told(shop, order):
    batch, told = make_batch(shop, 4), [(NOON - HOUR, 3), (NOON, 1)]
    at = NOON + HOUR

    for n in order:
        moment, count = told[n]
        lose(shop, batch, count, at, performed_at=moment, reason="No network.", **HAPPENED)

    assert StayRow.objects.get(batch=batch).ended_latest == NOON
    assert rebuild.check(at) == []


def test_nothing_more_can_be_asked_of_a_closed_batch(shop):
    batch = make_batch(shop, 1)
    lose(shop, batch, 1)

    with pytest.raises(Refused) as refused:
        count_batch(asking(shop.manager, NOON), batch=batch, counts=[0])

    assert refused.value.code == "batch_closed"
