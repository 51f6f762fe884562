"""A buyer leaves an address, confirms it by a letter, is told once, and is forgotten."""

import re
from datetime import datetime, timedelta

import pytest
from django.core import mail
from django.test import Client

from stock.models import BuyerAddress
from tests.certified import Buyer, certify, kept, ready_floor

ADDRESS = "nell@example.org"
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor, batch, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _a_service_that_writes_letters(story, db, settings):
    settings.TEST_CLOCK = True
    settings.ADDRESS = "http://testserver"
    settings.MAIL = {"host": "127.0.0.1"}
    settings.DEFAULT_FROM_EMAIL = "records@shop.example"


@pytest.fixture
def floor(story):
    return story[0].again()


@pytest.fixture
def certificate(story):
    return story[2]


def leave(floor, certificate, address=ADDRESS):
    path = certificate["url"].replace("http://testserver", "") + "/notices"
    headers = {"Fillmark-Now": floor.walk.now}
    return Client().post(path, {"address": address}, headers=headers)


def sweep(floor):
    floor.walk.post("test-clock/sweeps", {"site": floor.walk.site})


def letters(floor):
    """What was sent by this sweep, the newest last."""
    before = len(mail.outbox)
    sweep(floor)
    return mail.outbox[before:]


def press(floor, letter, **what):
    link = re.search(r"http://testserver(/notices/\w+)", letter.body)[1]
    return Client().post(link, what, headers={"Fillmark-Now": floor.walk.now})


@pytest.fixture
def confirmed(floor, certificate):
    """Somebody who pressed the button; the first letter."""
    leave(floor, certificate)
    (first,) = letters(floor)
    press(floor, first, confirm="yes")
    return first


def suspend(floor, certificate):
    reason = {"reason": "A net was shared with batch 7."}
    floor.walk.post(f"certificates/{certificate['uid']}/suspensions", reason)


def test_an_address_is_told_of_nothing_until_its_letter_was_answered(floor, certificate):
    answer = leave(floor, certificate)
    (first,) = letters(floor)
    suspend(floor, certificate)

    assert "on its way" in answer.content.decode()
    assert (first.to, first.subject) == ([ADDRESS], f"About record {certificate['number']}")
    assert letters(floor) == []


def test_a_program_that_opens_the_link_answers_nothing(floor, certificate):
    leave(floor, certificate)
    (first,) = letters(floor)
    link = re.search(r"http://testserver(/notices/\w+)", first.body)[1]

    page = Client().get(link, headers={"Fillmark-Now": floor.walk.now}).content.decode()

    assert "Yes, tell me" in page
    assert BuyerAddress.objects.get().confirmed_at is None


def test_a_suspension_is_told_once_in_neutral_words(floor, certificate, confirmed):
    suspend(floor, certificate)
    (letter,), after = letters(floor), letters(floor)

    assert after == []
    assert "Do not rely on it" in letter.body
    assert certificate["url"] in letter.body
    assert "net" not in letter.body
    assert letter.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"


def test_what_stood_on_the_page_before_the_answer_is_not_told_again(floor, certificate):
    suspend(floor, certificate)
    leave(floor, certificate)
    (first,) = letters(floor)
    press(floor, first, confirm="yes")

    assert letters(floor) == []


def test_one_touch_in_a_mail_program_forgets_the_address(floor, certificate, confirmed):
    press(floor, confirmed, **{"List-Unsubscribe": "One-Click"})
    suspend(floor, certificate)

    assert letters(floor) == []
    assert not BuyerAddress.objects.exists()
    assert press(floor, confirmed).status_code == 404


def test_after_the_last_word_the_address_is_forgotten(floor, certificate, confirmed):
    reason = {"reason": "Counted in the wrong container."}
    floor.walk.post(f"certificates/{certificate['uid']}/revocations", reason)

    (letter,) = letters(floor)

    assert "must not be relied on" in letter.body
    assert not BuyerAddress.objects.exists()


def test_who_does_not_answer_for_48_hours_is_forgotten(floor, certificate):
    leave(floor, certificate)
    (first,) = letters(floor)
    floor.walk.at(datetime.fromisoformat(floor.walk.now) + 48 * HOUR)

    assert press(floor, first, confirm="yes").status_code == 404
    sweep(floor)
    assert not BuyerAddress.objects.exists()


def test_the_address_stands_nowhere_in_the_clear(floor, certificate):
    leave(floor, certificate)

    row = BuyerAddress.objects.values().get()
    assert not any(ADDRESS in str(value) for value in row.values())


def test_asking_again_says_the_same_and_sends_at_most_three_a_day(floor, certificate):
    answers = [leave(floor, certificate) for _ in range(4)]

    assert [one.status_code for one in answers] == [200, 200, 200, 429]
    assert answers[0].content == answers[1].content
    assert len(letters(floor)) == 1


@pytest.mark.parametrize("address", ["", "nobody", "a@b", "x" * 300 + "@example.org"])
def test_what_is_no_address_is_said_at_the_field(floor, certificate, address):
    answer = leave(floor, certificate, address)

    assert answer.status_code == 400
    assert not BuyerAddress.objects.exists()


def test_a_server_that_is_away_loses_no_letter(floor, certificate, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.MAIL = {"host": "127.0.0.1", "port": 1, "timeout": 1}
    leave(floor, certificate)
    assert letters(floor) == []

    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    floor.walk.at(datetime.fromisoformat(floor.walk.now) + HOUR)

    assert len(letters(floor)) == 1


def test_without_a_mail_server_no_box_is_offered(floor, certificate, settings):
    with_it = Buyer(floor.walk.now).page(certificate["url"])
    settings.MAIL = {}
    without = Buyer(floor.walk.now).page(certificate["url"])

    assert "Be told when this changes" in with_it
    assert "Be told when this changes" not in without
    assert leave(floor, certificate).status_code == 404
