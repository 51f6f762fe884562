"""Calls: each notice reaches each person once, by whatever number of processes."""

from datetime import timedelta

import pytest
from django.db import connection, transaction

from stock import sweeps
from stock.calling import hand_out
from stock.doors.calls import add_address, mark_read, remove_address, test_address
from stock.doors.rooms import close_room, open_room
from stock.doors.sites import set_rules, set_shift
from stock.models import Call, CallItem, Container, Notice, OwnAddress, Sending, Task
from stock.outbox import Telling, leave
from stock.queries.calls import calls_of
from stock.refusals import Refused
from stock.sending import send_due
from tests.make import START, asking, make_batch, make_person, make_shop, move
from tests.service import listening
from tests.stock.telling import HOUR

pytestmark = pytest.mark.django_db

LIMIT = START + 72 * HOUR
SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)
ask_for_test = test_address
del test_address


@pytest.fixture
def service(settings):
    settings.PRIVATE_ADDRESSES = True
    with listening() as here:
        yield here


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """A shop with a batch whose only work is its next move."""
    shop = make_shop()
    batch = make_batch(shop)
    Task.objects.exclude(what="move").update(state="cancelled")
    return shop, batch


@pytest.fixture
def shop(opened, db):
    return opened[0]


@pytest.fixture
def batch(opened, db):
    return opened[1]


@pytest.fixture
def telephone(shop, service):
    return add_address(shop.manager, label="Telephone", address=service.address, now=START)


def told(shop, at):
    """One round of the timetable and of the sender."""
    sweeps.tell_times(shop.site, at)
    hand_out(shop.site, at)
    return send_due(at)


def states():
    return list(Sending.objects.order_by("pk").values_list("state", flat=True))


def test_s35_what_was_done_meanwhile_is_not_sent(shop, telephone, service, batch):
    sweeps.tell_times(shop.site, LIMIT - 4 * HOUR)
    hand_out(shop.site, LIMIT - 4 * HOUR)
    move(shop, batch, (20,), at=LIMIT - 3 * HOUR)

    send_due(LIMIT - 2 * HOUR)

    assert service.came == []
    assert [(one.state, one.why) for one in Sending.objects.all()] == [("dropped", "settled")]


def test_s35_a_reminder_older_than_its_limit_is_sent_as_overdue_alone(shop, telephone, service):
    sweeps.tell_times(shop.site, LIMIT - HOUR)
    hand_out(shop.site, LIMIT - HOUR)

    told(shop, LIMIT + SECOND)

    assert [one["title"] for one in service.came] == ["The limit has passed"]


# -- One call for one cause -------------------------------------------------------------------


def test_a_power_cut_that_alarms_forty_containers_is_one_call(shop, telephone, service):
    for n in range(40):
        body = {"place": f"R1-{n:02}", "to": [str(shop.manager.uid)]}
        at = START + n * 10 * SECOND
        leave(shop.site, Telling(f"probe_silent:{n}", "probe_silent", body), at)
        if n % 10 == 0:
            hand_out(shop.site, at)
            send_due(at)
    hand_out(shop.site, START + 10 * MINUTE)
    send_due(START + 10 * MINUTE)

    assert len(service.came) == 1
    (call,) = calls_of(shop.manager, shop.site, START + HOUR)
    assert len(call.items) == 40


def test_two_dangers_are_two_calls(shop, telephone, service):
    for n in range(2):
        body = {"container": f"0195000{n}-0000-7000-8000-000000000001"}
        body |= {"to": [str(shop.manager.uid)], "nh3_n_mg_l": "0.06", "alarm_mg_l": "0.05"}
        leave(shop.site, Telling(f"ammonia:{n}", "ammonia_alarm", body), START)

    hand_out(shop.site, START)
    send_due(START)

    assert len(service.came) == 2


# -- Sending ----------------------------------------------------------------------------------


def test_what_a_service_refuses_is_tried_again_later_and_then_once(shop, telephone, service):
    service.refuses = 2
    at = LIMIT - HOUR

    assert [told(shop, at + s * SECOND) for s in (0, 29, 30, 89, 90, 91, 3000)] == [
        0, 0, 0, 0, 1, 0, 0
    ]  # fmt: skip
    assert len(service.came) == 1
    assert Sending.objects.get().tries == 3


def test_a_service_that_never_takes_it_is_given_up_and_the_screen_has_it(
    shop, telephone, service
):
    body = {"to": [str(shop.manager.uid)], "place": "R1-01"}
    leave(shop.site, Telling("x", "probe_stuck", body), START)
    hand_out(shop.site, START)
    service.refuses = 100

    for hours in range(12):
        send_due(START + hours * HOUR)

    assert (states(), Sending.objects.get().tries) == (["failed"], 9)
    assert len(calls_of(shop.manager, shop.site, START + HOUR)) == 1


def test_a_try_that_never_ended_is_not_repeated(shop, telephone, service):
    sweeps.tell_times(shop.site, LIMIT - HOUR)
    hand_out(shop.site, LIMIT - HOUR)
    Sending.objects.update(state=Sending.UNDER_WAY, at=LIMIT - HOUR)

    send_due(LIMIT - HOUR + 11 * MINUTE)

    assert (states(), service.came) == (["unknown"], [])


def test_nothing_is_sent_while_a_transaction_is_open(shop, telephone):
    ask_for_test(shop.manager, uid=telephone.uid, now=START)

    with transaction.atomic(), pytest.raises(RuntimeError):
        send_due(START)


def test_an_address_is_tested_once_at_a_time(shop, telephone, service):
    for _ in range(3):
        ask_for_test(shop.manager, uid=telephone.uid, now=START)

    assert send_due(START) == 1
    assert [one["title"] for one in service.came] == ["A test"]


def test_a_private_network_is_not_spoken_to_unless_a_setting_allows_it(
    shop, telephone, service, settings
):
    settings.PRIVATE_ADDRESSES = False
    ask_for_test(shop.manager, uid=telephone.uid, now=START)

    assert send_due(START) == 0
    assert service.came == []
    assert Sending.objects.get().why == "it leads into a private network"
    with pytest.raises(Refused, match="private network"):
        add_address(shop.manager, label="Pump", address=service.address, now=START)


def test_an_address_stays_secret(shop, telephone, service):
    with connection.cursor() as cursor:
        cursor.execute("select sealed from own_address")
        (sealed,) = cursor.fetchone()

    assert "secret-word" not in sealed
    assert "secret-word" not in str(vars(OwnAddress.objects.get()))


def test_an_address_that_was_taken_away_is_not_called(shop, telephone, service):
    sweeps.tell_times(shop.site, LIMIT - HOUR)
    hand_out(shop.site, LIMIT - HOUR)
    remove_address(shop.manager, uid=telephone.uid)

    assert send_due(LIMIT - HOUR) == 0
    assert Call.objects.count() == 1


# -- Who, and when ----------------------------------------------------------------------------


def test_in_quiet_hours_reminders_wait_and_are_one_call_in_the_morning(shop, service):
    keeper = make_person(shop, "Jonas", "keeper")
    add_address(keeper, label="Telephone", address=service.address, now=START)
    night = [{"role": "keeper", "quiet_from": "20:00", "quiet_to": "06:00"}]
    set_rules(
        asking(shop.manager),
        site=shop.site,
        rules={"calls": night, "reminders_s": [43200, 39600]},
        in_force_from=START,
        version=0,
    )

    told(shop, LIMIT - 12 * HOUR)
    told(shop, LIMIT - 11 * HOUR)

    assert service.came == []
    assert send_due(LIMIT - 3 * HOUR) == 1  # 06:00 in Berlin
    assert len(service.came[0]["message"].splitlines()) == 1


def test_late_in_the_night_who_is_on_call_is_called_and_the_others_sleep(shop, service):
    keeper = make_person(shop, "Jonas", "keeper")
    add_address(keeper, label="Telephone", address=service.address, now=START)
    set_shift(
        asking(shop.manager),
        site=shop.site,
        person=keeper.uid,
        begins=LIMIT - HOUR,
        ends=LIMIT + HOUR,
        on_call=True,
    )

    told(shop, LIMIT + SECOND)

    assert len(service.came) == 1
    assert set(CallItem.objects.values_list("person", flat=True)) == {keeper.uid}


def test_what_was_called_out_as_late_is_called_resolved(shop, telephone, service, batch):
    told(shop, LIMIT + SECOND)
    move(
        shop, batch, (20,), at=LIMIT + 2 * HOUR, performed_at=LIMIT - HOUR, reason="no network"
    )

    told(shop, LIMIT + 2 * HOUR)

    assert [one["title"] for one in service.came] == ["The limit has passed", "Resolved"]
    assert "it was done in time and told later" in service.came[1]["message"]


def test_what_nobody_was_called_for_is_resolved_on_the_screen_alone(
    shop, telephone, service, batch
):
    service.refuses = 1
    told(shop, LIMIT + SECOND)
    move(shop, batch, (20,), at=LIMIT + HOUR, performed_at=LIMIT - HOUR, reason="no network")

    told(shop, LIMIT + 2 * HOUR)

    assert service.came == []
    kinds = [one.kind for one in calls_of(shop.manager, shop.site, LIMIT + 3 * HOUR)]
    assert kinds == ["resolved", "overdue"]


def test_what_was_read_is_read_once(shop, telephone):
    told(shop, LIMIT + SECOND)

    marked = [mark_read(shop.manager, site=shop.site, now=LIMIT + HOUR) for _ in range(2)]

    assert marked == [1, 0]


def test_after_an_upgrade_old_notices_are_read_and_not_sent(shop, telephone, service):
    sweeps.tell_times(shop.site, LIMIT + SECOND)

    hand_out(shop.site, LIMIT + 13 * HOUR)

    assert (send_due(LIMIT + 13 * HOUR), service.came) == (0, [])
    assert Call.objects.count() == 1
    assert not Notice.objects.filter(sent_at=None).exists()


# -- Rooms that are closed --------------------------------------------------------------------


def room_of(batch):
    return Container.objects.get(label__startswith="C-").rack.room_id


def test_nobody_is_sent_into_a_room_that_is_closed(shop, telephone, service, batch):
    at = LIMIT - 13 * HOUR
    close_room(
        asking(shop.manager, at), room=room_of(batch), begins=None, ends=None, why="Chlorine"
    )
    told(shop, at)

    told(shop, LIMIT - HOUR)
    told(shop, LIMIT + SECOND)

    assert [one["title"] for one in service.came] == ["A room is closed for people"]
    assert "Chlorine" in service.came[0]["message"]

    open_room(asking(shop.manager, LIMIT + HOUR), room=room_of(batch))
    told(shop, LIMIT + HOUR)
    assert {one["title"] for one in service.came[1:]} == {
        "A room is open again",
        "The limit has passed",
    }


def test_a_call_on_its_way_is_stopped_by_a_closed_room(shop, telephone, service, batch):
    sweeps.tell_times(shop.site, LIMIT - HOUR)
    hand_out(shop.site, LIMIT - HOUR)
    close_room(
        asking(shop.manager, LIMIT - HOUR),
        room=room_of(batch),
        begins=None,
        ends=LIMIT,
        why="Current",
    )

    send_due(LIMIT - HOUR)

    assert "room_closed" in Sending.objects.values_list("why", flat=True)
