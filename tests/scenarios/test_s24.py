"""S-24: what the buyer sees of a batch with a death and a restart in its record."""

from datetime import datetime

import pytest
from django.test import Client

from tests.certified import HOUR, Buyer, certify, kept, lose, move_on, open_floor

PLACED = datetime.fromisoformat("2027-01-20T09:00:00+00:00")
NOTE = "set aside for Quillfeather, who pays at once"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Received 20, two dead on arrival, one dead on day 4, a late move on day 7."""
    with kept(django_db_blocker):
        floor = open_floor(Client(), PLACED, zone="Europe/Lisbon", containers=7, kits=7)
        names = {"scientific_name": "Centropyge loricula", "trade_names": ["Flame angel"]}
        floor.species = floor.walk.post("species", names)["species"]["uid"]
        line = floor.receive(20, at=PLACED, doa=2)
        batch = floor.place(18, "R1-01", "A-1", at=PLACED, line=line, note=NOTE)
        floor.move(batch, "R1-02", "B-1", [18], at=PLACED + 71 * HOUR)
        lose(floor, batch, 1, at=PLACED + 95 * HOUR)
        floor.move(batch, "R1-03", "A-2", [17], at=PLACED + 145 * HOUR)
        move_on(floor, batch, 17, (217, 289, 361, 433), placed=PLACED, first=3)
        floor.walk.at("2027-02-22T09:00:00+00:00")
        yield floor, certify(floor, batch, 17)


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0]


@pytest.fixture
def url(story):
    return story[1]["url"]


@pytest.fixture
def buyer():
    return Buyer("2027-02-23T10:00:00+00:00")


@pytest.fixture
def page(buyer, url):
    return buyer.page(url)


def test_s24_1_the_animals_and_their_numbers_are_there(page):
    assert "This record stands for 17 Flame angel." in page
    assert "Flame angel (<i>Centropyge loricula</i>)" in page
    assert "Wed 20 Jan 2027" in page
    assert number_beside(page, "Received") == 20
    assert number_beside(page, "Dead on arrival") == 2
    assert number_beside(page, "Placed alive") == 18
    assert number_beside(page, "Dead") == 1
    assert number_beside(page, "Certified") == 17
    assert "Sun 24 Jan 2027" in page  # the day of the loss


def test_s24_2_every_move_is_there_with_its_verdict(buyer, url):
    moves = buyer.data(url)["moves"]

    assert [one["verdict"] for one in moves] == ["on_time", "over", *["on_time"] * 4]
    assert [one["restarted"] for one in moves] == [False, True, *[False] * 4]
    assert moves[1]["at"] == "2027-01-26T10:00:00Z"


def test_s24_3_observation_number_state_and_last_change_are_there(page):
    assert "Sun 7 Feb 2027 10:00 WET" in page
    assert "Sun 21 Feb 2027 10:00 WET" in page
    assert "C-2027-0001" in page
    assert "Valid" in page
    assert 'Last change <time datetime="2027-02-22T09:00:00Z">' in page


@pytest.mark.parametrize("accept", ["text/html", "application/json", "application/vc+jwt"])
@pytest.mark.parametrize(
    "hidden", ["Mara", "mara@", "Atoll", "Quillfeather", "pays", "R1-0", "A-1", "price"]
)
def test_s24_4_nobody_is_named_and_nothing_is_sold(buyer, url, accept, hidden):
    said = buyer.get(url, accept).content.decode()

    assert hidden not in said
    assert hidden not in str(buyer.verified(buyer.token(url)))


def test_s24_5_the_restart_stands_there_in_words(page):
    assert "restarted: this was day 1 of a new one" in page
    assert "The series was restarted once." in page
    assert "after 1 move: a stay was longer than its limit. It was begun anew." in page


def test_s24_6_no_rule_hides_a_restart(floor):
    problem = put_rules(floor, {"public_hides": ["restarts"]})

    assert (problem.status_code, problem.json()["code"]) == (400, "unreadable")


def test_s24_7_what_may_be_hidden_was_decided_before_the_course_began(floor, url):
    changed = put_rules(floor, {"public_hides": ["deaths_by_day"]})

    buyer = Buyer("2027-03-01T10:00:00+00:00")
    assert changed.status_code == 201
    assert buyer.data(url)["losses"] == [{"on": "2027-01-24", "fate": "dead", "count": 1}]


def test_s24_8_only_the_whole_long_address_opens_it_without_an_account(buyer, url):
    code = url.rpartition("/")[2]

    assert len(code) == 32
    assert buyer.get(url).status_code == 200
    assert buyer.get(url[:-1]).status_code == 404
    assert buyer.get("/c/C-2027-0001").status_code == 404


def put_rules(floor, rules):
    path = f"sites/{floor.walk.site}/rules"
    version = floor.walk.send("GET", path)["ETag"]
    body = {"rules": rules, "in_force_from": "2027-02-23T12:00:00Z"}
    return floor.walk.send("PUT", path, body, **{"If-Match": version})


def number_beside(page, words):
    """The figure in the row of a table that begins with these words."""
    row = page.partition(f'scope="row">{words}</th>')[2]
    return int(row.partition("</td>")[0].rpartition(">")[2])
