"""The report of what was told late, over REST and as a page."""

import pytest

from tests.equipment import DAY, disinfect, make_cup, see_dry
from tests.visit import Visit
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

NOW = "2027-02-01T09:00:00+01:00"
SPAN = "from=2027-01-01T00:00:00Z&to=2027-03-01T00:00:00Z"


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    walk = Walk.begin(client, f"{DAY}09:15:00+01:00")
    cup = make_cup(walk)
    disinfect(walk, cup)
    told = {"performed_at": "2027-01-31T08:00:00+01:00", "standing": "happened"}
    see_dry(walk.at(NOW), cup, reason="The tablet was locked away.", **told)
    return walk


def test_it_stands_in_the_month_in_which_it_was_told(walk):
    (found,) = walk.get(f"sites/{walk.site}/late-entries?{SPAN}")["people"]

    assert (found["month"], found["count"], found["longest_text"]) == ("2027-02", 1, "25:00")
    assert found["entries"][0]["told_at"] == "2027-02-01T08:00:00Z"


def test_what_the_record_book_did_not_hold_yet_is_not_in_it(walk):
    (found,) = walk.get(f"sites/{walk.site}/late-entries?{SPAN}")["people"]
    before = found["entries"][0]["seq"] - 1

    assert walk.get(f"sites/{walk.site}/late-entries?{SPAN}&known_by={before}")["people"] == []


def test_the_page_says_who_told_what_how_late_and_why(walk):
    visit = Visit.by(walk.person, NOW)

    text = visit.read("late-entries", walk.site)

    assert "February 2027: 1 told late, 1 of them not yet confirmed" in text
    assert "mara: 1, at most 25:00 late" in text
    assert "Seen dry: Cup 1" in text
    assert "The tablet was locked away." in text
    assert "Told late" in visit.read("record-book", walk.site)


def test_other_months_are_a_step_away(walk):
    visit = Visit.by(walk.person, NOW)

    january = visit.get("late-entries", walk.site, query="?month=2027-01")

    assert "Nothing was told late." in january.content.decode()
    assert "?month=2026-12" in january.content.decode()
    assert "?month=2027-02" in january.content.decode()


def test_a_keeper_does_not_read_what_others_told_late(walk):
    keeper = walk.as_person("Ola", "keeper")

    assert Visit.by(keeper.person, NOW).get("late-entries", walk.site).status_code == 403
