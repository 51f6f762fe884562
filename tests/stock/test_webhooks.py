"""Events for other programs: told with the change, sent to a real receiver, each once."""

import itertools
from datetime import timedelta
from uuid import uuid4

import pytest
import standardwebhooks.webhooks
from django.db import IntegrityError, connection, transaction
from django.test import override_settings

from stock import rebuild, sweeps
from stock.doors.signs import lift_hold, place_hold
from stock.doors.webhooks import (
    change_webhook,
    make_webhook,
    remove_webhook,
    renew_secret,
    replay,
)
from stock.doors.webhooks import test_webhook as ask_for_test
from stock.models import Notice, Webhook, WebhookDelivery, WebhookEvent
from stock.refusals import NotFound, Refused
from stock.webhook_sending import deliver_due, forget_old
from tests.make import START, asking, make_batch, make_person, make_shop
from tests.receiver import receiving
from tests.stock.raw import copy, twice
from tests.stock.telling import HAPPENED, HOUR, NOON, bear, dispatch

pytestmark = pytest.mark.django_db

SECOND, MINUTE, DAY = timedelta(seconds=1), timedelta(minutes=1), timedelta(days=1)
HOLDS = ("hold.placed", "hold.lifted")
State = WebhookDelivery


@pytest.fixture
def receiver(settings):
    settings.PRIVATE_ADDRESSES = True
    with receiving() as here:
        yield here


@pytest.fixture(scope="module")
def opened(kept_for_module):
    shop = make_shop()
    return shop, make_batch(shop)


@pytest.fixture
def shop(opened, db):
    return opened[0]


@pytest.fixture
def batch(opened, db):
    return opened[1]


@pytest.fixture
def hook(shop, receiver):
    return make(shop, receiver)[0]


@pytest.fixture
def the_clock_of_the_story(monkeypatch):
    """The receiver's library reads the clock of its machine, which is not that of the story."""

    class Then(standardwebhooks.webhooks.datetime):
        @classmethod
        def now(cls, tz=None):
            return START + MINUTE

    monkeypatch.setattr(standardwebhooks.webhooks, "datetime", Then)


def make(shop, receiver, label="Shop program", kinds=HOLDS, at=START):
    return make_webhook(
        shop.manager, site=shop.site, label=label, address=receiver.address, kinds=kinds, at=at
    )


def hold(shop, batch, at=START):
    made = place_hold(asking(shop.manager, at), batch=batch, why="White spots on Sapphire")
    return made.body["hold"]["uid"]


def states():
    return list(State.objects.order_by("pk").values_list("state", flat=True))


def statuses():
    return [[one["status"] for one in row.answers] for row in State.objects.order_by("pk")]


# -- What is told ------------------------------------------------------------------------------


def test_a_library_that_is_not_ours_accepts_what_arrives(
    shop, batch, receiver, the_clock_of_the_story
):
    _, secret = make(shop, receiver)
    placed = hold(shop, batch)

    assert deliver_due(START) == 1

    (came,) = receiver.came
    said = came.verified(secret)
    assert came.headers["path"] == "/events/secret-path?a=b"
    assert (said["type"], said["timestamp"]) == ("hold.placed", "2027-01-04T08:00:00Z")
    assert said["data"]["batch"] == str(batch)
    assert said["data"]["hold"] == said["data"]["fact"] == str(placed)
    assert said["data"]["position"] > 0
    assert "Sapphire" not in came.body.decode()
    with pytest.raises(standardwebhooks.WebhookVerificationError):
        came.verified(make(shop, receiver, "Other")[1])


def test_what_was_lifted_says_of_which_batch(shop, batch, hook, receiver):
    placed = hold(shop, batch)
    lift_hold(asking(shop.manager, START + HOUR), hold=placed, why="It was dust.")

    event = WebhookEvent.objects.get(kind="hold.lifted")
    assert event.data["batch"] == str(batch)
    assert event.data["hold"] == str(placed)


def test_what_is_refused_is_no_event(shop, batch, hook):
    placed = hold(shop, batch)
    lift_hold(asking(shop.manager), hold=placed, why="It was dust.")
    with pytest.raises(Refused):
        lift_hold(asking(shop.manager), hold=placed, why="It was dust.")

    assert WebhookEvent.objects.filter(kind="hold.lifted").count() == 1


def test_an_event_goes_with_its_change_or_not_at_all(shop, batch, hook):
    with transaction.atomic():
        hold(shop, batch)
        assert WebhookEvent.objects.exists()
        transaction.set_rollback(True)

    assert not WebhookEvent.objects.exists()


def test_a_repeated_request_is_no_second_event(shop, batch, hook):
    for _ in range(2):
        place_hold(asking(shop.manager, key="once"), batch=batch, why="White spots")

    assert WebhookEvent.objects.count() == 1


def test_only_what_was_chosen_at_ones_own_site_is_sent(shop, batch, receiver):
    make(shop, receiver, "Limits", kinds=["limit.near"])
    other = make_shop()
    make(other, receiver)
    hold(shop, batch)

    assert deliver_due(START) == 0
    assert receiver.came == []


def test_a_limit_that_is_near_and_one_that_has_passed_are_told_once(shop, batch, receiver):
    make(shop, receiver, kinds=["limit.near", "limit.passed"])
    limit = START + 72 * HOUR

    for at in (limit - HOUR, limit - HOUR, limit + SECOND, limit + HOUR):
        sweeps.tell_limits(shop.site, at)

    told = WebhookEvent.objects.filter(data__what="move", data__batch=str(batch))
    assert sorted(told.values_list("kind", flat=True)) == ["limit.near", "limit.passed"]
    assert {one.data["limit"] for one in told} == {"2027-01-07T08:00:00Z"}


def test_without_a_webhook_nothing_is_kept(shop, batch, django_assert_num_queries):
    hold(shop, batch)

    assert not WebhookEvent.objects.exists()
    with django_assert_num_queries(1):
        sweeps.tell_limits(shop.site, START + 73 * HOUR)


def test_what_does_not_fit_yet_is_told_once_it_fits(shop, batch, receiver):
    make(shop, receiver, kinds=["batch.dispatched"])
    dispatch(shop, batch, 30, at=NOON + HOUR, **HAPPENED)
    assert not WebhookEvent.objects.exists()

    bear(shop, batch, 10, at=NOON + 2 * HOUR, performed_at=NOON, reason="Told late", **HAPPENED)

    (event,) = WebhookEvent.objects.all()
    assert (event.data["count"], "buyer" in event.data) == (30, False)


def test_a_rebuild_tells_nothing_again(shop, batch, hook):
    hold(shop, batch)
    kept = list(WebhookEvent.objects.values())

    rebuild.rebuild(START + HOUR)

    assert list(WebhookEvent.objects.values()) == kept


# -- Sending -----------------------------------------------------------------------------------


def test_what_is_refused_is_tried_again_with_the_same_name_and_body(
    shop, batch, hook, receiver
):
    receiver.answers = [503, 500]
    hold(shop, batch)

    came = [deliver_due(START + s * SECOND) for s in (0, 9, 10, 69, 70, 71, 9000)]

    assert came == [0, 0, 0, 0, 1, 0, 0]
    assert statuses() == [[503, 500, 204]]
    assert len({(one.name, one.body) for one in receiver.came}) == 1
    assert len({one.headers["webhook-timestamp"] for one in receiver.came}) == 3


def test_a_receiver_that_asks_for_more_time_gets_it(shop, batch, hook, receiver):
    receiver.answers, receiver.more = [429], {"Retry-After": "600"}
    hold(shop, batch)
    deliver_due(START)

    assert deliver_due(START + 599 * SECOND) == 0
    assert deliver_due(START + 600 * SECOND) == 1


def test_a_redirection_is_not_followed(shop, batch, hook, receiver):
    receiver.answers, receiver.more = [302], {"Location": receiver.address}
    hold(shop, batch)
    deliver_due(START)

    assert (len(receiver.came), statuses()) == (1, [[302]])


def test_a_try_that_never_ended_is_made_again_under_its_name(shop, batch, hook, receiver):
    hold(shop, batch)
    State.objects.update(state=State.UNDER_WAY, at=START, tries=1)

    assert deliver_due(START + 9 * MINUTE) == 0
    assert deliver_due(START + 10 * MINUTE) == 1
    assert [one["why"] for one in State.objects.get().answers] == ["lost", ""]


def test_one_that_does_not_answer_is_asked_once_in_a_round_and_once_a_minute(
    shop, batch, hook, receiver
):
    receiver.answers = [503] * 3
    for _ in range(5):
        hold(shop, batch)

    came = []
    for s in (0, 5, 10, 60, 70, 129, 130, 131):
        deliver_due(START + s * SECOND)
        came.append(len(receiver.came))

    # The first at 0, 10 and 70 s; the others a minute after that, all since one was taken.
    assert came == [1, 1, 2, 2, 3, 3, 7, 7]


def test_once_it_takes_something_again_the_others_go_at_once(shop, batch, hook, receiver):
    receiver.answers = [503]
    for _ in range(3):
        hold(shop, batch)
    deliver_due(START)

    assert deliver_due(START + 10 * SECOND) == 1
    assert deliver_due(START + 11 * SECOND) == 2


def test_what_was_taken_away_while_it_waited_is_not_sent(shop, batch, hook, receiver):
    hold(shop, batch)
    remove_webhook(shop.manager, uid=hook.uid, at=START)

    assert (deliver_due(START), receiver.came) == (0, [])


def test_each_try_says_its_own_moment_and_a_slow_one_gives_way(shop, batch, hook, receiver):
    for _ in range(4):
        hold(shop, batch)
    moments = itertools.count(0, 12)

    taken = deliver_due(START, now=lambda: START + next(moments) * SECOND)

    stamps = [
        int(one.headers["webhook-timestamp"]) - START.timestamp() for one in receiver.came
    ]
    assert (taken, stamps) == (2, [12, 24])


def test_nothing_is_sent_while_a_transaction_is_open(shop, batch, hook):
    hold(shop, batch)

    with transaction.atomic(), pytest.raises(RuntimeError):
        deliver_due(START)


def test_a_private_network_is_not_spoken_to_unless_a_setting_allows_it(
    shop, batch, hook, receiver, settings
):
    settings.PRIVATE_ADDRESSES = False
    hold(shop, batch)
    deliver_due(START)

    assert (receiver.came, State.objects.get().answers[0]["why"]) == ([], "private")
    with pytest.raises(Refused, match="private network"):
        make(shop, receiver, "Another")


# -- Ended, gone on with, sent again -----------------------------------------------------------


def test_one_that_is_gone_is_ended_at_once_and_managers_are_told(shop, batch, hook, receiver):
    receiver.answers = [410]
    hold(shop, batch)
    hold(shop, batch)

    deliver_due(START)

    hook.refresh_from_db()
    assert (hook.state, hook.why) == ("ended", "gone")
    (notice,) = Notice.objects.filter(kind="webhook_ended")
    assert notice.body["to"] == [str(shop.manager.uid)]
    assert deliver_due(START + DAY) == 0
    assert len(receiver.came) == 1


def test_one_that_takes_nothing_for_three_days_is_ended_and_told_once(
    shop, batch, hook, receiver
):
    receiver.answers = [500] * 99
    hold(shop, batch)

    for hours in range(80):
        deliver_due(START + hours * HOUR)
        if hours == 70:
            assert Webhook.objects.get().state == "active"
            hold(shop, batch, START + 70 * HOUR)

    row = Webhook.objects.get()
    assert (row.state, row.why) == ("ended", "failing")
    assert Notice.objects.filter(kind="webhook_ended").count() == 1


def test_what_was_taken_once_begins_the_count_anew(shop, batch, hook, receiver):
    receiver.answers = [500, 204]
    hold(shop, batch)
    deliver_due(START)
    assert Webhook.objects.get().failing_since == START

    deliver_due(START + MINUTE)

    row = Webhook.objects.get()
    assert (row.failing_since, row.failed_tries) == (None, 0)


def test_what_was_missed_meanwhile_is_sent_again_from_a_time(shop, batch, hook, receiver):
    hold(shop, batch)
    deliver_due(START)
    change_webhook(shop.manager, uid=hook.uid, at=START, active=False)
    hold(shop, batch, START + HOUR)
    with pytest.raises(Refused, match="ended"):
        replay(shop.manager, uid=hook.uid, at=START + HOUR, since=START)
    change_webhook(shop.manager, uid=hook.uid, at=START + 2 * HOUR, active=True)
    assert deliver_due(START + 2 * HOUR) == 0

    missed = replay(shop.manager, uid=hook.uid, at=START + 3 * HOUR, since=START + MINUTE)
    every = replay(shop.manager, uid=hook.uid, at=START + 3 * HOUR, since=START)

    assert (missed, every) == (1, 1)
    assert deliver_due(START + 3 * HOUR) == 2
    first, again, _ = sorted(receiver.came, key=lambda one: one.body)
    assert (first.name, first.body) == (again.name, again.body)


def test_one_delivery_is_sent_again_under_its_name(shop, batch, hook, receiver):
    hold(shop, batch)
    deliver_due(START)
    (one,) = State.objects.all()

    again = [
        replay(shop.manager, uid=hook.uid, at=START + HOUR, delivery=one.pk) for _ in range(2)
    ]

    assert again == [1, 0]
    assert deliver_due(START + HOUR) == 1
    assert len({came.name for came in receiver.came}) == 1
    with pytest.raises(NotFound):
        replay(shop.manager, uid=hook.uid, at=START + HOUR, delivery=one.pk + 1)


def test_while_a_secret_replaces_another_both_sign(
    shop, batch, receiver, the_clock_of_the_story
):
    hook, old = make(shop, receiver)
    _, unseen = renew_secret(shop.manager, uid=hook.uid, at=START)
    _, new = renew_secret(shop.manager, uid=hook.uid, at=START)
    hold(shop, batch)
    deliver_due(START)
    (came,) = receiver.came

    assert came.verified(old) == came.verified(new) == came.verified(unseen)

    receiver.came.clear()
    hold(shop, batch, START + DAY)
    deliver_due(START + DAY)
    assert len(receiver.came[0].headers["webhook-signature"].split()) == 1


def test_a_test_is_sent_once_at_a_time_and_a_failed_one_ends_nothing(shop, hook, receiver):
    receiver.answers = [500]
    for _ in range(2):
        ask_for_test(shop.manager, uid=hook.uid, at=START)

    deliver_due(START)
    deliver_due(START + HOUR)

    assert (len(receiver.came), states()) == (1, ["failed"])
    assert Webhook.objects.get().failing_since is None


# -- Who, and what is kept ---------------------------------------------------------------------


def test_address_and_secret_lie_sealed(shop, receiver):
    _, secret = make(shop, receiver)
    with connection.cursor() as cursor:
        cursor.execute("select address, secret from webhook")
        kept = str(cursor.fetchone())

    assert "secret-path" not in kept
    assert secret not in kept


def test_sealed_under_another_key_it_is_not_sent_and_says_so(shop, batch, hook, receiver):
    hold(shop, batch)

    with override_settings(SECRET_KEY="another " * 9):
        deliver_due(START)

    assert (receiver.came, State.objects.get().answers[0]["why"]) == ([], "sealed")


def test_only_managers_of_the_site_have_to_do_with_it(shop, hook, receiver):
    keeper, other = make_person(shop, "Jonas", "keeper"), make_shop()

    with pytest.raises(Refused, match="role"):
        remove_webhook(keeper, uid=hook.uid, at=START)
    with pytest.raises(NotFound):
        remove_webhook(other.manager, uid=hook.uid, at=START)


def test_other_events_and_another_address_are_chosen_later(shop, batch, hook, receiver):
    change_webhook(shop.manager, uid=hook.uid, at=START, kinds=["hold.lifted"])
    hold(shop, batch)
    assert not State.objects.exists()

    with pytest.raises(Refused, match="Choose among"):
        change_webhook(shop.manager, uid=hook.uid, at=START, kinds=["hold"])


def test_events_are_forgotten_after_ninety_days(shop, batch, hook):
    hold(shop, batch)

    forget_old(shop.site, START + 90 * DAY - SECOND)
    assert WebhookEvent.objects.exists()
    forget_old(shop.site, START + 90 * DAY)
    assert not WebhookEvent.objects.exists()


def test_a_label_and_an_event_of_a_webhook_stand_once(shop, batch, hook):
    hold(shop, batch)

    with pytest.raises(IntegrityError, match=twice("label")):
        copy(hook, uid=uuid4())
    with pytest.raises(IntegrityError, match=twice("event_id")):
        copy(State.objects.get())
    with pytest.raises(IntegrityError, match=twice("effect")):
        copy(WebhookEvent.objects.get())
