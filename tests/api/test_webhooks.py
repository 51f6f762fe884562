"""Webhooks over REST: set up, looked at, sent again, taken away."""

import pytest
from django.test import Client

from protocols.webhooks import Event
from stock.models import Answer, Webhook
from stock.outbox import leave_event
from stock.webhook_sending import AT_ONCE
from tests.floor import Floor
from tests.receiver import receiving

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=1, kits=1, ready=False)


@pytest.fixture
def receiver(settings):
    settings.PRIVATE_ADDRESSES = True
    with receiving() as here:
        yield here


@pytest.fixture
def walk(floor):
    return floor.walk


def make(walk, receiver, **said):
    events = walk.get(f"sites/{walk.site}/webhooks")["events"]
    body = {"label": "Office", "address": receiver.address, "kinds": events, **said}
    return walk.post(f"sites/{walk.site}/webhooks", body)


def sweep(walk):
    return walk.post("test-clock/sweeps", {"site": walk.site})["webhooks"]


def test_address_and_secret_are_shown_never_again(walk, receiver):
    made = make(walk, receiver)
    hook = made["webhook"]["uid"]

    shown = str(walk.get(f"sites/{walk.site}/webhooks")) + str(walk.get(f"webhooks/{hook}"))

    assert made["secret"].startswith("whsec_")
    assert made["webhook"]["host"] == f"127.0.0.1:{receiver.server_port}"
    assert made["secret"] not in shown + str(list(Answer.objects.values_list("body")))
    assert "secret-path" not in shown + str(made["webhook"])


def test_a_delivery_is_looked_at_and_sent_again(walk, receiver):
    receiver.answers = [500]
    hook = make(walk, receiver)["webhook"]["uid"]
    assert walk.post(f"webhooks/{hook}/deliveries", {"test": True}) == {"coming": 1}
    assert walk.post(f"webhooks/{hook}/deliveries", {"test": True}) == {"coming": 0}
    sweep(walk)

    (one,) = walk.get(f"webhooks/{hook}/deliveries")["deliveries"]
    assert (one["type"], one["state"]) == ("webhook.test", "failed")
    assert [answer["status"] for answer in one["answers"]] == [500]
    assert walk.post(f"webhooks/{hook}/deliveries", {"again": one["no"]}) == {"coming": 1}
    assert sweep(walk) == 1
    assert {came.name for came in receiver.came} == {one["id"]}
    assert walk.get(f"webhooks/{hook}/deliveries?after={one['no']}")["deliveries"] == []


def test_a_sweep_sends_whatever_is_due_once(walk, receiver):
    hook = make(walk, receiver)["webhook"]["uid"]
    row = Webhook.objects.get(uid=hook)
    for n in range(AT_ONCE + 2):
        leave_event(row.site_id, Event(f"x:{n}", "hold.placed", row.made_at, {}), row.made_at)

    assert sweep(walk) == len(receiver.came) == AT_ONCE + 2
    assert sweep(walk) == 0


@pytest.mark.parametrize("said", [{}, {"test": False}, {"test": True, "again": 1}])
def test_what_is_to_be_sent_is_said_in_one_way(walk, receiver, said):
    hook = make(walk, receiver)["webhook"]["uid"]

    assert walk.refused(f"webhooks/{hook}/deliveries", said).code == "unreadable"


def test_it_is_ended_gone_on_with_and_taken_away(walk, receiver):
    hook = make(walk, receiver)["webhook"]["uid"]

    states = [
        walk.send("PUT", f"webhooks/{hook}", {"active": active}).json()["webhook"]["state"]
        for active in (False, False, True)
    ]

    assert states == ["ended", "ended", "active"]
    assert walk.send("DELETE", f"webhooks/{hook}").status_code == 200
    assert walk.send("GET", f"webhooks/{hook}").status_code == 404


def test_what_is_wrong_is_said_at_its_field(walk, receiver, settings):
    make(walk, receiver)
    settings.PRIVATE_ADDRESSES = False
    bad = {"label": "Office", "address": "http://10.0.0.1/", "kinds": ["hold.placed"]}

    problem = walk.refused(f"sites/{walk.site}/webhooks", bad)

    pointers = sorted(one["pointer"] for one in problem.body["reasons"])
    assert pointers == ["/address", "/address", "/label"]
    unknown = {**bad, "label": "B", "kinds": ["hold"]}
    assert walk.refused(f"sites/{walk.site}/webhooks", unknown).code == "unreadable"


def test_a_secret_that_leaked_signs_nothing_more(walk, receiver):
    hook = make(walk, receiver)["webhook"]["uid"]

    made = walk.post(f"webhooks/{hook}/secrets", {"both_hours": 0})

    assert made["webhook"]["old_secret_until"] is None
    walk.post(f"webhooks/{hook}/deliveries", {"test": True})
    sweep(walk)
    assert len(receiver.came[0].headers["webhook-signature"].split()) == 1
