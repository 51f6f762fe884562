"""The pages about webhooks: told, looked at, sent again, ended, taken away."""

import re
from datetime import datetime

import pytest
from django.test import Client
from django.urls import reverse

from api.pages.webhook_words import EVENTS as WORDS
from protocols.webhooks import EVENTS
from stock.models import Webhook
from stock.webhook_sending import deliver_due
from tests.floor import Floor
from tests.receiver import receiving
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-11T09:00:00+00:00"
AT = datetime.fromisoformat(NOW)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=1, kits=1
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    return floor


@pytest.fixture
def receiver(settings):
    settings.PRIVATE_ADDRESSES = True
    with receiving() as here:
        yield here


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


@pytest.fixture
def hook(floor, visit, receiver):
    add(floor, visit, receiver)
    return Webhook.objects.get()


def add(floor, visit, receiver, **said):
    body = {"label": "Office", "address": receiver.address, "kinds": ["hold.placed"], **said}
    return visit.press("add-webhook", floor.walk.site, **body)


def hold(floor):
    batch = floor.uids["batch"]
    return floor.walk.at(NOW).post(f"batches/{batch}/holds", {"why": "Ask Mara."})


def test_every_event_has_words():
    assert tuple(name for name, _ in WORDS) == EVENTS


def test_a_program_is_told_and_its_secret_is_shown_once(floor, visit, receiver):
    answer = add(floor, visit, receiver)
    secret = re.search(r"whsec_[\w+/=]+", answer.content.decode())[0]
    hold(floor)
    deliver_due(AT)

    uid = Webhook.objects.get().uid
    page = visit.read("webhook", uid)
    assert "A hold is placed" in page
    assert "taken" in page
    assert "It answered 204." in page
    assert "Ask Mara" not in page
    for html in (
        visit.get("webhooks", floor.walk.site).content.decode(),
        visit.get("webhook", uid).content.decode(),
    ):
        assert secret not in html
        assert "secret-path" not in html
        assert "Office" in html


def test_what_is_wrong_stands_beside_its_field_and_no_address_is_shown(
    floor, visit, receiver, hook, settings
):
    settings.PRIVATE_ADDRESSES = False
    answer = add(floor, visit, receiver)

    page = answer.content.decode()
    assert answer.status_code == 400
    assert "private network" in page
    assert "Office is the label of another one here" in page
    assert "secret-path" not in page


def test_one_delivery_is_sent_again_by_its_button(floor, visit, receiver, hook):
    hold(floor)
    deliver_due(AT)
    (one,) = hook.deliveries.all()

    visit.press("send-webhook-again", hook.uid, one.pk)
    assert "not taken yet" in visit.read("webhook", hook.uid)
    deliver_due(AT)

    assert len({came.name for came in receiver.came}) == 1
    assert len(receiver.came) == 2
    assert visit.press("send-webhook-again", hook.uid, one.pk + 1).status_code == 404
    assert visit.press("send-webhook-again", hook.uid, 10**30).status_code == 404


def test_one_that_takes_nothing_says_since_when_and_when_it_is_tried_again(
    floor, visit, receiver, hook
):
    receiver.answers = [503]
    hold(floor)
    deliver_due(AT)

    page = visit.read("webhook", hook.uid)

    assert "It has taken nothing since Mon 11 Jan 2027 09:00 WET; one try" in page
    assert "not taken yet; tried again Mon 11 Jan 2027 09:00:10 WET" in page
    assert "It answered 503." in page
    assert "takes nothing" in visit.read("webhooks", floor.walk.site)


def test_all_since_a_moment_is_sent_again(floor, visit, receiver, hook):
    hold(floor)
    deliver_due(AT)

    answer = visit.press("send-webhook-since", hook.uid, since="2027-01-11T08:30")

    assert "1 event is sent again." in visit.follow(answer)
    assert deliver_due(AT) == 1


def test_it_is_ended_gone_on_with_and_taken_away(floor, visit, receiver, hook):
    assert "ended by hand" in visit.follow(visit.press("end-webhook", hook.uid))
    late = visit.press("send-webhook-since", hook.uid, since="2027-01-11T08:30")
    assert (late.status_code, "is ended" in late.content.decode()) == (409, True)
    assert "is told again" in visit.follow(visit.press("resume-webhook", hook.uid))
    assert "forgotten" in visit.read("remove-webhook", hook.uid)
    assert "Office is taken away" in visit.follow(visit.press("remove-webhook", hook.uid))
    assert visit.get("webhook", hook.uid).status_code == 404


def test_other_events_another_secret_and_a_test(floor, visit, receiver, hook):
    done = visit.press("change-webhook", hook.uid, kinds=["limit.near", "hold.lifted"])
    assert "A hold is lifted; A limit is near" in visit.follow(done)
    assert (
        "whsec_" in visit.press("renew-webhook-secret", hook.uid, hours="24").content.decode()
    )
    assert "good as well until" in visit.read("webhook", hook.uid)
    visit.press("test-webhook", hook.uid)
    assert deliver_due(AT) == 1
    assert "A test" in visit.read("webhook", hook.uid)


def test_managers_are_told_on_their_page_of_calls_that_it_ended(floor, visit, receiver, hook):
    receiver.answers = [410]
    hold(floor)
    deliver_due(AT)
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})

    page = visit.read("calls", floor.walk.site)

    assert "A webhook was ended" in page
    assert "Office" in page


def test_only_managers_see_it(floor, receiver, hook):
    keeper = Visit.by(floor.walk.as_person("Jonas", "keeper").person, NOW)

    assert keeper.get("webhooks", floor.walk.site).status_code == 403
    assert keeper.get("webhook", hook.uid).status_code == 403
    address = reverse("webhooks", args=[floor.walk.site])
    assert address not in keeper.get("shift", floor.walk.site).content.decode()


def test_the_page_asks_the_database_as_often_for_one_delivery_as_for_many(
    floor, visit, receiver, hook, django_assert_max_num_queries
):
    for _ in range(12):
        hold(floor)
    deliver_due(AT)

    with django_assert_max_num_queries(11):
        visit.get("webhook", hook.uid)
