"""A shared tablet: people switch by PIN code, two work side by side, and it locks."""

from urllib.parse import urlencode

import pytest

from protocols.proofs import Proof
from stock.doors.pins import choose_pin, give_first_pin
from stock.models import Attempt, Fact, Person
from tests.api.tablet import Hands
from tests.make import make_person, make_shop

pytestmark = pytest.mark.django_db

NOW = "2027-01-20T09:00:00+00:00"
PINS = {"Ida": "2580", "Bo": "74100", "Mara": "963852"}


@pytest.fixture(scope="module")
def kept_shop(kept_for_module):
    shop = make_shop()
    people = {name: make_person(shop, name, "keeper") for name in ("Ida", "Bo")}
    people["Mara"] = shop.manager
    for name, pin in PINS.items():
        choose_pin(people[name], pin=pin)
    return shop, people


@pytest.fixture
def people(kept_shop, db):
    return {one.name: one for one in Person.objects.filter(name__in=PINS)}


@pytest.fixture
def tablet(kept_shop, db, settings):
    settings.TEST_CLOCK = True
    return Hands.of(kept_shop[0], NOW)


# -- Switching ---------------------------------------------------------------------------------


def test_a_page_leads_to_the_people_of_the_tablet_and_a_pin_code_back(tablet, people):
    led = tablet.get("room", tablet.site)
    answer = tablet.press(
        "pin", people["Ida"].uid, pin="2580", next=f"/sites/{tablet.site}/room"
    )

    assert led.url == "/tablet?" + urlencode({"next": f"/sites/{tablet.site}/room"})
    assert answer.url == f"/sites/{tablet.site}/room"
    assert tablet.who() == "Ida"


def test_who_comes_instead_acts_alone(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.pin(people["Bo"], "74100")

    assert tablet.here() == ["Bo"]


def test_two_work_side_by_side_and_hand_over_without_a_code(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.pin(people["Bo"], "74100", how="beside")
    both = tablet.here()
    tablet.press("act-as", people["Ida"].uid)

    assert both == ["Bo", "Ida"]
    assert tablet.here() == ["Ida", "Bo"]


def test_a_third_one_comes_instead_of_one_of_them(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.pin(people["Bo"], "74100", how="beside")
    tablet.pin(people["Mara"], "963852", how="beside")

    assert tablet.here() == ["Mara", "Bo"]


def test_nobody_acts_as_somebody_who_is_not_here(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.press("act-as", people["Mara"].uid)

    assert tablet.here() == ["Ida"]


def test_leaving_leaves_the_other_one(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.pin(people["Bo"], "74100", how="beside")
    tablet.press("leave-tablet", people["Bo"].uid)
    alone = tablet.here()
    tablet.press("sign-out")

    assert alone == ["Ida"]
    assert tablet.here() == []


def test_somebody_who_left_the_shop_is_not_offered_and_not_let_in(tablet, people):
    Person.objects.filter(uid=people["Bo"].uid).update(is_active=False)

    tablet.pin(people["Bo"], "74100")

    assert "Bo" not in tablet.reads("who-is-here")
    assert tablet.who() == ""


# -- Guessing ----------------------------------------------------------------------------------


def test_five_wrong_codes_close_it_for_this_person_at_this_tablet_until_the_password(
    tablet, people
):
    wrong = [tablet.pin(people["Ida"], "1357").status_code for _ in range(5)]
    closed = tablet.pin(people["Ida"], "2580")
    tablet.later(days=30)
    still = tablet.pin(people["Ida"], "2580")
    other = tablet.pin(people["Bo"], "74100").status_code

    assert wrong == [400] * 5
    assert (closed.status_code, still.status_code, other) == (429, 429, 302)
    assert "wrongly too often" in tablet.reads("pin", people["Ida"].uid)

    tablet.password(people["Ida"])
    tablet.press("sign-out")
    tablet.pin(people["Ida"], "2580")

    assert tablet.who() == "Ida"


def test_a_wrong_code_says_how_many_tries_are_left_and_no_try_names_a_person(tablet, people):
    answer = tablet.pin(people["Ida"], "1357")

    assert b"4 more tries" in answer.content
    assert str(people["Ida"].uid) not in str(list(Attempt.objects.values()))


def test_no_code_is_tried_at_a_browser_that_is_no_tablet(tablet, people):
    tablet.client.cookies.pop("fillmark_tablet")

    answer = tablet.pin(people["Ida"], "2580")

    assert answer.url == "/tablet"
    assert not Attempt.objects.exists()


# -- The first code ----------------------------------------------------------------------------


def test_a_first_code_is_changed_before_anything_else(tablet, people):
    give_first_pin(people["Mara"], site=tablet.site, person=people["Ida"].uid, pin="4711")
    led = tablet.pin(people["Ida"], "4711")
    before = tablet.who()
    same = tablet.press("new-pin", pin="4711", again="4711")
    tablet.press("new-pin", pin="9753", again="9753")

    assert (led.url, before) == ("/tablet/new-pin", "")
    assert b"Choose one that you alone know." in same.content
    assert tablet.who() == "Ida"
    tablet.press("sign-out")
    assert tablet.pin(people["Ida"], "4711").status_code == 400


# -- Being idle --------------------------------------------------------------------------------


def test_a_tablet_left_lying_asks_who_is_there(tablet, people):
    tablet.pin(people["Ida"], "2580")
    touched = tablet.later(minutes=14).who()
    later = tablet.later(minutes=14).who()
    left = tablet.later(minutes=16).who()

    assert (touched, later, left) == ("Ida", "Ida", "")
    assert "Nobody touched this tablet" in tablet.reads("who-is-here")


def test_what_a_page_fetches_by_itself_keeps_nobody_signed_in(tablet, people):
    tablet.pin(people["Ida"], "2580")
    for _ in range(4):
        tablet.later(minutes=4).get("shift", tablet.site, **{"Sec-Fetch-Mode": "cors"})

    assert tablet.who() == ""


def test_a_page_that_is_worked_with_for_long_says_that_it_is_touched(tablet, people):
    tablet.pin(people["Ida"], "2580")
    for _ in range(4):
        tablet.later(minutes=14).get(
            "contact", **{"Sec-Fetch-Mode": "cors", "Fillmark-Touched": "1"}
        )
    touched = tablet.who()
    tablet.later(minutes=16).get("contact", **{"Fillmark-Touched": "1"})

    assert (touched, tablet.who()) == ("Ida", "")


def test_what_was_on_its_way_at_a_sign_in_does_not_end_it(tablet, people):
    """A page's own fetch that left before: its answer brings no cookie over the new ones."""
    tablet.pin(people["Ida"], "2580")
    before = {name: one.value for name, one in tablet.client.cookies.items()}
    tablet.pin(people["Bo"], "74100")
    late = Hands(tablet.site, tablet.at)
    late.client.cookies.load(before)
    of_entry = {"Fillmark-Raw-At": tablet.at.isoformat()}
    for headers in ({}, of_entry):
        answer = late.get("contact", **{"Sec-Fetch-Mode": "cors", **headers})
        tablet.client.cookies.update(answer.cookies)

    assert tablet.who() == "Bo"


def test_the_last_touch_of_another_sign_in_does_not_count(tablet, people):
    tablet.pin(people["Ida"], "2580")
    before = touches(tablet)
    tablet.pin(people["Bo"], "74100")
    (mine,) = touches(tablet).keys() - before.keys()
    tablet.client.cookies[mine] = list(before.values())[-1]

    assert tablet.who() == ""


def touches(tablet):
    """The cookies that say when somebody touched it, by their names."""
    every = tablet.client.cookies.items()
    return {name: one.value for name, one in every if name.startswith("fillmark_used")}


def test_a_form_pressed_while_it_was_locked_is_kept_for_its_person(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.later(hours=1).press("tell-contact", tablet.site, why="a net", request_key="once")
    led = tablet.pin(people["Ida"], "2580")
    page = tablet.get("kept-form").content.decode()

    assert led.url == "/tablet/kept"
    assert f'action="/sites/{tablet.site}/contact"' in page
    assert 'name="request_key" value="once"' in page


def test_another_one_does_not_find_what_was_pressed(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.later(hours=1).press("tell-contact", tablet.site, why="a net")
    tablet.pin(people["Bo"], "74100")

    assert tablet.get("kept-form").url == "/"


def test_without_the_cookie_of_the_tablet_its_sign_in_is_none(tablet, people):
    tablet.pin(people["Ida"], "2580")
    tablet.client.cookies.pop("fillmark_tablet")

    assert tablet.get("shift", tablet.site).status_code == 302


# -- What a code is not enough for -------------------------------------------------------------


def test_by_pin_code_a_manager_sets_up_nothing_until_the_password(tablet, people):
    tablet.pin(people["Mara"], "963852")
    refused = tablet.press("set-up-room", tablet.site, label="Hall 2")
    told = tablet.reads("shift", tablet.site)
    tablet.password(people["Mara"])
    done = tablet.press(
        "set-up-room", tablet.site, label="Hall 2", light_on="08:00", light_off="20:00"
    )

    assert (refused.status_code, done.status_code) == (401, 302)
    assert "need your password" in told
    assert Fact.objects.filter(kind="room_set").count() == 1


def test_the_password_of_one_is_not_there_for_the_next_one_who_hands_back(tablet, people):
    tablet.password(people["Mara"])
    tablet.pin(people["Ida"], "2580", how="beside")
    tablet.press("act-as", people["Mara"].uid)

    assert tablet.client.session["proof"] == Proof.PIN
    assert tablet.press("set-up-room", tablet.site, label="Hall 2").status_code == 401


def test_nobody_changes_their_own_code_by_it(people):
    people["Ida"].proof = Proof.PIN

    with pytest.raises(Exception, match="password first"):
        choose_pin(people["Ida"], pin="8642")
