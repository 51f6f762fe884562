"""Tablets without network, in real Chromium: what is pressed there exists once in the end."""

import pytest
from django.contrib.sessions.models import Session

from api.pages import offline
from protocols.clocks import corrected
from stock.doors.pins import choose_pin
from stock.models import EntryOfDevice, Fact, Loss, Parked, Person
from tests.browser.conftest import NOW
from tests.browser.tablet import Tablet

LATER = "2027-01-14T11:40:00+00:00"
PIN = "4826"
FAST = 47  # minutes before the service


@pytest.fixture
def other(floor):
    """A second batch, there before the first."""
    return floor.place(16, "R1-02", "B-1", at="2027-01-11T07:30:00+00:00")


@pytest.fixture
def tablet(look, floor, batch):
    return Tablet.enrol(look(), floor, "Tablet 3")


@pytest.fixture
def jo(floor):
    """A keeper with a PIN code."""
    person = floor.walk.as_person("Jo", "keeper").person
    choose_pin(Person.objects.get(uid=person), pin=PIN)
    return person


def beside(tablet, person):
    """Somebody else works beside whoever acts, by PIN code."""
    page = tablet.looking.open("pin", person)
    page.fill("#id_pin", PIN)
    page.click("text=Work beside")
    page.wait_for_url(lambda url: "/people/" not in url)


def sign_in(tablet, person):
    page = tablet.looking.open("sign-in")
    page.fill("#id_email", Person.objects.get(uid=person).email)
    page.fill("#id_password", "correct horse")
    page.click("main button.action")
    page.wait_for_url(lambda url: "sign-in" not in url)


def numbers(tablet):
    return [one["no"] for one in tablet.entries()]


def test_thirty_entries_of_two_people_exist_once_in_order(
    other, jo, tablet, floor, batch, monkeypatch
):
    """Hours offline, reload, close, another version of the app, session and token gone."""
    mara, page = floor.walk.person, tablet.page
    tablet.clock(NOW, FAST)
    beside(tablet, jo)
    for one in (batch, other):
        tablet.has_kept("loss", one)
    people = [mara, jo] * 15
    tablet.loses_network()

    told = [(who, (batch, other)[n // 3 % 2]) for n, who in enumerate(people)]
    for who, of in told[:10]:
        tablet.presses("loss", of, by=who, count="1")
    tablet.hours_pass(2)
    assert numbers(tablet) == list(range(1, 11))
    tablet.looking.sees("2 hours ago", "The clock of this tablet is 47 minutes fast")

    page.close()
    tablet.looking.page = tablet.page.context.new_page()
    for who, of in told[10:20]:
        tablet.presses("loss", of, by=who, count="1")
    another_version(tablet, monkeypatch)
    tablet.hours_pass(2)
    for who, of in told[20:]:
        tablet.presses("loss", of, by=who, count="1")
    assert numbers(tablet) == list(range(1, 31))
    assert Loss.objects.count() == 0

    Session.objects.all().delete()
    tablet.finds_network(LATER)
    tablet.looking.open("entries")
    assert "/tablet?next=" in tablet.page.url
    tablet.looking.sees(
        "Not sent yet: 30 entries", "Entries of mara wait", "Entries of Jo wait"
    )
    assert Loss.objects.count() == 0

    sign_in(tablet, mara)
    beside(tablet, jo)
    tablet.sends_all()
    tablet.looking.open("entries")
    tablet.looking.sees("Everything is sent.", "answered 11:40")

    rows = list(EntryOfDevice.objects.order_by("no"))
    assert [one.no for one in rows] == list(range(1, 31))
    assert [str(one.doer) for one in rows] == people
    assert {one.answer for one in rows} <= {"stored", "again"}
    told_of = Fact.objects.filter(device=tablet.uid)
    facts = {one.entry_no: one for one in told_of}
    assert len(facts) == told_of.count() == 30
    assert [facts[one.no].performed_at for one in rows] == [
        corrected(one.raw_at, one.clock_offset_ms) for one in rows
    ]
    assert [str(facts[n].doer) for n in range(1, 31)] == people
    assert all((one.raw_at - facts[one.no].performed_at).seconds // 60 >= 46 for one in rows)
    assert Loss.objects.count() == 30


def another_version(tablet, monkeypatch):
    """The app is updated while the service can be reached for that alone."""
    context = tablet.page.context
    monkeypatch.setattr(offline, "_version", lambda: "another")
    context.route("**/tablet/contact", lambda route: route.abort())
    context.set_offline(False)
    tablet.page.evaluate("async () => (await navigator.serviceWorker.ready).update()")
    tablet.until("async () => (await caches.keys()).join() .includes('files:another')")
    context.set_offline(True)
    context.unroute("**/tablet/contact")


def test_s37_entries_wait_for_their_own_doer_and_are_answered_by_the_service_alone(
    jo, tablet, floor, batch
):
    tablet.has_kept("loss", batch)
    tablet.loses_network()
    for _ in range(4):
        tablet.presses("loss", batch, count="1")
    Session.objects.all().delete()

    # A network that answers everything with its own page, and says that all is well.
    context = tablet.page.context
    context.route(
        lambda url: "/loss" in url or "/tablet/" in url,
        lambda route: route.fulfill(body="<h1>Welcome</h1>", content_type="text/html"),
    )
    tablet.finds_network(LATER)
    tablet.page.evaluate("() => window.dispatchEvent(new Event('online'))")
    context.unroute_all()
    # What the worker asks for bears no header with the moment: the site has reached it too.
    floor.walk.at(LATER).post("test-clock/sweeps", {"site": floor.walk.site})
    sign_in(tablet, jo)
    tablet.looking.open("entries")
    tablet.looking.sees("Not sent yet: 4 entries", "Waits until mara signs in here.")
    assert len(tablet.entries()) == 4
    assert Loss.objects.count() == 0

    sign_in(tablet, floor.walk.person)
    tablet.sends_all()

    assert Loss.objects.count() == 4
    assert {str(one.doer) for one in EntryOfDevice.objects.all()} == {floor.walk.person}


def test_a_post_whose_answer_was_lost_is_recorded_once(tablet, batch):
    tablet.has_kept("loss", batch)
    page = tablet.looking.open("loss", batch)
    page.context.route("**/loss", arrives_without_an_answer)

    page.fill("#id_count", "1")
    page.click("text=Record the loss")

    page.wait_for_url("**/tablet/entries#not-sent")
    tablet.looking.sees("It was there already.")
    assert Loss.objects.count() == 1
    assert not page.locator("#not-sent").is_visible()


def arrives_without_an_answer(route):
    if route.request.method == "POST":
        route.fetch()
        route.abort()
    else:
        route.fallback()


def test_two_tablets_tell_of_more_animals_than_there_are(tablet, look, floor, batch):
    """Both happened, say those who stood there: one stands, the other is a manager's."""
    second = Tablet.enrol(look(), floor, "Tablet 4")
    for one, dead in ((tablet, "10"), (second, "9")):
        one.has_kept("loss", batch)
        one.loses_network()
        one.presses("loss", batch, count=dead)

    for one, says in ((tablet, "Recorded."), (second, "does not fit the record yet")):
        one.finds_network(LATER)
        sign_in(one, floor.walk.person)
        one.sends_all()
        one.looking.open("entries")
        one.looking.sees(says)

    answers = EntryOfDevice.objects.order_by("id").values_list("answer", flat=True)
    assert list(answers) == ["stored", "parked"]
    assert [one.count for one in Loss.objects.all()] == [10]
    assert Parked.objects.count() == 1


def test_a_kept_page_tells_its_age_and_leaving_clears_pages_but_no_entry(tablet, floor, batch):
    tablet.clock(NOW, 0)
    tablet.has_kept("batch", batch)
    tablet.has_kept("loss", batch)
    tablet.loses_network()
    tablet.looking.open("batch", batch)
    tablet.hours_pass(3)

    tablet.looking.sees("No network: this is what was known at 07:40, 3 hours ago.")
    tablet.looking.sees("2:40 over")
    tablet.presses("loss", batch, count="1")

    tablet.page.context.route("**/tablet/contact", lambda route: route.abort())
    tablet.finds_network(NOW)
    tablet.looking.open("room", floor.walk.site)
    tablet.page.click("summary:has-text('More')")
    tablet.page.click("text=Sign out")
    tablet.page.wait_for_url(lambda url: "/room" not in url)
    tablet.looking.sees("Not sent yet: 1 entry")
    tablet.until("async () => !(await caches.keys()).some((one) => one.startsWith('pages:'))")
    assert len(tablet.entries()) == 1


def test_a_browser_that_keeps_nothing_says_so_and_leaves_what_was_typed(tablet, batch):
    tablet.has_kept("loss", batch)
    tablet.page.context.add_init_script(
        "indexedDB.open = () => { throw new DOMException('full', 'QuotaExceededError'); }"
    )
    tablet.loses_network()
    page = tablet.looking.open("loss", batch)

    page.fill("#id_count", "7")
    page.click("text=Record the loss")

    tablet.looking.sees("Not recorded and not kept.", "This browser keeps nothing")
    assert page.input_value("#id_count") == "7"
