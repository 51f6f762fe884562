"""Two at the same moment, in real threads: one of them is first, and nothing is done twice."""

import json
from dataclasses import replace

import pytest
from django.db import connection, transaction
from django.db.models import Sum
from django.test import Client

from protocols.values import Standing
from stock import lock
from stock.apply.counts import balances
from stock.doors.leaving import DispatchAsked, dispatch_animals
from stock.doors.losses import LossLine, record_losses
from stock.doors.splitting import PartAsked, split_batch
from stock.models import Balance, Fact, Log, StayRow
from stock.refusals import Refused
from stock.sums import wrong_sums
from stock.verify import verify
from tests.floor import Floor
from tests.make import asking, make_batch, make_container, make_person, make_shop
from tests.stock.telling import NOON

pytestmark = pytest.mark.django_db(transaction=True)

PLACED = "2027-01-05T09:00:00+01:00"
MOVED = "2027-01-08T08:00:00+01:00"


def kinds(outcomes):
    """What became of each: `Answered`, or the code of the refusal."""
    return sorted(
        one.code if isinstance(one, Refused) else type(one).__name__ for one in outcomes
    )


# -- Through the doors -----------------------------------------------------------------------


def test_the_last_animals_are_lost_once(together):
    shop = make_shop()
    other = make_person(shop, "Ola", "keeper")
    batch = make_batch(shop, 2)
    line = LossLine(batch, "dead", 2, NOON, ("unknown",))

    outcomes = together(
        lambda: record_losses(asking(shop.manager, NOON), lines=[line]),
        lambda: record_losses(asking(other, NOON), lines=[line]),
    )

    assert kinds(outcomes) == ["Answered", "batch_closed"]
    assert balances(batch) == {"alive": 0, "dead": 2}
    assert wrong_sums() == []


def test_of_three_animals_two_buyers_do_not_get_two_each(together):
    shop = make_shop()
    batch = make_batch(shop, 3)
    asked = DispatchAsked(batch=batch, count=2, buyer="Coral House")

    outcomes = together(
        lambda: dispatch_animals(asking(shop.manager, NOON), asked=asked),
        lambda: dispatch_animals(asking(shop.manager, NOON), asked=asked),
    )

    assert kinds(outcomes) == ["Answered", "too_few_alive"]
    assert balances(batch) == {"alive": 1, "sold": 2}


def test_everybody_at_once_leaves_one_unbroken_record_book(together):
    shop = make_shop()
    batches = [make_batch(shop, 4) for _ in range(6)]

    def lose_one(batch):
        line = LossLine(batch, "dead", 1, NOON, ("unknown",))
        return lambda: record_losses(asking(shop.manager, NOON), lines=[line])

    outcomes = together(*(lose_one(batch) for batch in batches))

    assert kinds(outcomes) == ["Answered"] * 6
    assert verify(Log.objects.get(uid=shop.site)) is None


def test_a_split_and_a_loss_at_once_count_every_animal_once(together):
    shop = make_shop()
    batch = make_batch(shop, 5)
    parts = [PartAsked(3), PartAsked(2, make_container(shop, "R9-01"))]
    line = LossLine(batch, "dead", 1, NOON, ("unknown",))
    told = {"standing": Standing.HAPPENED}

    outcomes = together(
        lambda: split_batch(asking(shop.manager, NOON, **told), batch=batch, parts=parts),
        lambda: record_losses(asking(shop.manager, NOON), lines=[line]),
    )

    # The first is as told; the second does not fit any more: refused, or kept to be settled.
    assert kinds(outcomes) in (["Answered", "Answered"], ["Answered", "batch_closed"])
    assert Balance.objects.filter(place__in=("alive", "dead")).aggregate(n=Sum("n"))["n"] == 5
    assert wrong_sums() == []


SHORT_PATIENCE = {
    "postgresql": "set lock_timeout = '50ms'",
    "sqlite": "pragma busy_timeout = 50",
}


def test_who_waits_too_long_for_the_record_book_is_told_so_and_nothing_is_kept(together):
    shop = make_shop()
    batch = make_batch(shop, 2)
    line = LossLine(batch, "dead", 2, NOON, ("unknown",))

    def lose_impatiently():
        connection.cursor().execute(SHORT_PATIENCE[connection.vendor])
        return record_losses(asking(shop.manager, NOON), lines=[line])

    with transaction.atomic():
        lock.take(shop.site)
        outcomes = together(lose_impatiently)

    assert kinds(outcomes) == ["busy"]
    assert balances(batch) == {"alive": 2}


# -- Over REST -------------------------------------------------------------------------------


@pytest.fixture
def floor(client, settings):
    settings.TEST_CLOCK = True
    return Floor.open(client, PLACED, containers=3, kits=3)


def beside(walk):
    """The same person at another tablet."""
    return replace(walk, client=Client())


def answers(outcomes):
    return [(one.status_code, json.loads(one.content)) for one in outcomes]


def codes(outcomes):
    return sorted(f"{status} {body.get('code', 'done')}" for status, body in answers(outcomes))


def placing(floor, line, container, kit):
    """What is asked to place ten; called, it is sent from a tablet of its own."""
    walk = beside(floor.walk)
    body = {
        "from": [{"line": line, "count": 10}],
        "container": floor.uids[container],
        "kit": floor.uids[kit],
        "counts": [10],
        "performed_at": PLACED,
    }
    return lambda: walk.send("POST", "batches", body)


def test_a_container_takes_one_of_two_batches_placed_at_once(floor, together):
    lines = [floor.receive(10, at=PLACED) for _ in range(2)]
    floor.read("R1-01", at=PLACED)

    outcomes = together(
        placing(floor, lines[0], "R1-01", "A-1"), placing(floor, lines[1], "R1-01", "B-1")
    )

    assert codes(outcomes) == ["201 done", "409 joins_running_series"]
    assert StayRow.objects.filter(container=floor.uids["R1-01"]).count() == 1


def test_a_kit_goes_with_one_of_two_batches_placed_at_once(floor, together):
    lines = [floor.receive(10, at=PLACED) for _ in range(2)]
    floor.read("R1-01", "R1-02", at=PLACED)

    outcomes = together(
        placing(floor, lines[0], "R1-01", "A-1"), placing(floor, lines[1], "R1-02", "A-1")
    )

    assert codes(outcomes) == ["201 done", "409 kit_in_use"]
    assert StayRow.objects.filter(kit=floor.uids["A-1"]).count() == 1


def test_the_same_animals_are_placed_once(floor, together):
    line = floor.receive(10, at=PLACED)
    floor.read("R1-01", "R1-02", at=PLACED)

    outcomes = together(
        placing(floor, line, "R1-01", "A-1"), placing(floor, line, "R1-02", "B-1")
    )

    assert codes(outcomes) == ["201 done", "409 more_than_received"]
    assert wrong_sums() == []


@pytest.fixture
def moving(floor):
    """A batch and what is asked to move it; called with a key, it is sent."""
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", "R1-02", at=MOVED)
    body = {**floor.move_body(batch, "R1-02", "B-1", [20]), "performed_at": MOVED}

    def send(key):
        walk = beside(floor.walk)
        return lambda: walk.send("POST", f"batches/{batch}/moves", body, key=key)

    return send


def test_a_double_tap_is_one_move_and_both_taps_get_its_answer(moving, together):
    outcomes = together(moving("tap"), moving("tap"))

    told = [body for status, body in answers(outcomes) if status != 503]
    assert {status for status, _ in answers(outcomes)} <= {200, 201, 503}
    assert all(body == told[0] for body in told)
    assert Fact.objects.filter(kind="batch_moved").count() == 1


def test_the_same_key_later_gives_the_first_answer_again(moving, together):
    outcomes = together(moving("tap"), moving("tap"))
    first = next(body for status, body in answers(outcomes) if status == 201)

    again = moving("tap")()

    assert (again.status_code, json.loads(again.content)) == (200, first)


def test_two_people_confirm_one_move_and_the_second_is_shown_the_first(moving, together):
    outcomes = together(moving("ola"), moving("ben"))

    assert codes(outcomes) == ["201 done", "409 stay_ended"]
    refused = next(body for status, body in answers(outcomes) if status == 409)
    assert refused["existing"]
    assert Fact.objects.filter(kind="batch_moved").count() == 1


def test_two_accounts_told_at_once_are_one_move_that_both_tell(floor, together):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    floor.read("R1-01", "R1-02", at=MOVED)
    body = {**floor.move_body(batch, "R1-02", "B-1", [20]), "performed_at": MOVED}
    tablets = [beside(floor.walk.as_person(name, "keeper")) for name in ("Ada", "Ben")]

    def tell(tablet, count):
        told = {**body, "counts": [count], "standing": "happened"}
        return lambda: tablet.at(MOVED).send("POST", f"batches/{batch}/moves", told)

    outcomes = together(tell(tablets[0], 20), tell(tablets[1], 19))

    # Whoever waits for the record book longer than it gives is told so, and sends again.
    assert {status for status, _ in answers(outcomes)} == {201}
    assert Fact.objects.filter(kind="batch_moved").count() == 2
    assert StayRow.objects.filter(batch=batch).count() == 2
    assert balances(batch) == {"alive": 19, "unaccounted": 1}
    assert wrong_sums() == []


def test_a_join_and_a_move_at_once_leave_nobody_in_two_places(floor, together):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    other = floor.place(4, "R1-02", "B-1", at=PLACED)
    floor.read("R1-01", "R1-02", "R1-03", at=MOVED)
    told = {"performed_at": MOVED, "standing": "happened"}
    move = {**floor.move_body(other, "R1-03", "A-2", [4]), **told}
    join = {"members": [batch, other], "to_container": floor.uids["R1-01"], **told}
    tablets = [beside(floor.walk) for _ in range(2)]

    outcomes = together(
        lambda: tablets[0].send("POST", f"batches/{other}/moves", move),
        lambda: tablets[1].send("POST", "joins", join),
    )

    assert [status for status, _ in answers(outcomes)] == [201, 201]
    open_stays = StayRow.objects.filter(ended_latest=None)
    assert len(set(open_stays.values_list("container", flat=True))) == open_stays.count()
    assert Balance.objects.filter(place="alive").aggregate(n=Sum("n"))["n"] == 24
    assert wrong_sums() == []
