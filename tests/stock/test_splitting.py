"""Splits and joins in the record: rows, sums, and what reaches whom."""

from uuid import UUID, uuid4

import pytest

from protocols.values import Standing
from stock import rebuild, rejudge
from stock.apply.counts import balances
from stock.doors.questions import withdraw_fact
from stock.doors.signs import record_contact
from stock.doors.splitting import JoinAsked, PartAsked, join_batches, split_batch
from stock.judging.load import judged
from stock.models import Batch, Fact, Parked, StayRow
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import START, asking, make_batch, make_container, make_person, make_shop
from tests.stock.telling import HAPPENED, HOUR, NOON, bear, container_of, find, lose, miss

pytestmark = pytest.mark.django_db(transaction=True)

LATER = NOON + HOUR


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def split(shop):
    """Five, of whom two go elsewhere: the uids of the parent and its parts."""
    batch = make_batch(shop, 5)
    parts = [PartAsked(3), PartAsked(2, make_container(shop, "R9-01"))]
    told = split_batch(asking(shop.manager, NOON, **HAPPENED), batch=batch, parts=parts)
    return (batch, *(UUID(one["uid"]) for one in told.body["children"]))


def rules(batch, at=LATER):
    return {one.rule for one in judged(batch, at).deviations if one.is_open}


def is_whole():
    return [wrong_sums(), rebuild.check(LATER), rejudge.check(LATER)] == [[], [], []]


def test_every_animal_goes_on_in_one_of_the_parts(shop, split):
    parent = split[0]

    assert [balances(one)["alive"] for one in split] == [0, 3, 2]
    assert Batch.objects.get(uid=parent).closed_at == NOON
    assert StayRow.objects.filter(ended_latest=None).count() == 2
    assert is_whole()


def test_what_is_told_late_of_the_parent_reaches_its_parts(shop, split):
    parent, three, two = split
    other = make_batch(shop, 1)
    stay = StayRow.objects.get(batch=parent)

    record_contact(
        asking(shop.manager, LATER, performed_at=START + HOUR, reason="remembered now"),
        begin=other,
        end=stay.container_id,
        way="tool",
        thing=None,
    )

    assert "contact_tool" in rules(three)
    assert "contact_tool" in rules(two)
    assert is_whole()


def test_a_loss_told_of_the_closed_batch_is_kept_to_be_settled(shop, split):
    parent, _, _ = split

    lose(shop, parent, 1, LATER, **HAPPENED)

    assert Parked.objects.get().code == "too_few_alive"
    assert is_whole()


def test_a_split_on_which_batches_rest_cannot_be_taken_back(shop, split):
    fact = Fact.objects.get(kind="batch_split")
    second = make_person(shop, "Ola", "manager")

    with pytest.raises(Refused) as refused:
        withdraw_fact(asking(second, LATER, reason="it was not so"), fact=fact.uid)

    assert refused.value.code == "contradicts_record"
    assert is_whole()


def test_parts_joined_again_are_a_new_batch(shop, split):
    _, three, two = split
    asked = JoinAsked((three, two), container_of(three))

    told = join_batches(asking(shop.manager, LATER, **HAPPENED), asked=asked)

    joined = told.body["batch"]
    assert (joined["counts"]["alive"], joined["counts"]["placed"]) == (5, 5)
    assert joined["series"]["started_at"] == START
    assert "joined_untreated" not in rules(UUID(joined["uid"]))
    assert is_whole()


def test_who_is_found_apart_goes_on_in_the_stay_in_which_they_were_left(shop):
    batch = make_batch(shop, 5)
    missing = miss(shop, batch, 2, **HAPPENED)
    elsewhere = make_container(shop, "R9-02")

    told = find(shop, missing, 2, elsewhere, LATER, standing=Standing.HAPPENED)

    found = told.body["found"]
    assert (found["counts"]["alive"], found["series"]["started_at"]) == (2, START)
    assert found["stay"]["started_at"] == START
    assert is_whole()


def test_who_was_born_here_is_shown_as_that(shop):
    batch = make_batch(shop, 2)

    told = bear(shop, batch, 3)

    counts = told.body["batch"]["counts"]
    assert (counts["alive"], counts["placed"], counts["born_here"]) == (5, 2, 3)
    assert "outside" not in counts


def test_a_split_sent_twice_is_one_split_though_its_parts_have_names_by_then(shop):
    batch = make_batch(shop, 5)
    named = uuid4()
    parts = [PartAsked(3), PartAsked(2, make_container(shop, "R9-03"), uid=named)]
    asked = asking(shop.manager, NOON, **HAPPENED)

    first = split_batch(asked, batch=batch, parts=parts)
    second = split_batch(asked, batch=batch, parts=parts)

    assert second.body["fact"]["uid"] == first.body["fact"]["uid"]
    assert Fact.objects.filter(kind="batch_split").count() == 1


def test_a_part_cannot_be_named_like_something_else(shop):
    batch, container = make_batch(shop, 5), make_container(shop, "R9-04")
    parts = [PartAsked(3), PartAsked(2, container, uid=container)]

    with pytest.raises(Refused) as refused:
        split_batch(asking(shop.manager, NOON, **HAPPENED), batch=batch, parts=parts)

    assert refused.value.reasons[0].pointer == "/parts/1/uid"
    assert not Fact.objects.filter(kind="batch_split").exists()
