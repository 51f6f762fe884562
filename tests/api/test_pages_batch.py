"""The page of a batch, and the moves that are told there."""

import pytest

from stock.models import Balance, Batch, Missing, StayRow
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATER = "2027-01-14T07:40:00+00:00"


@pytest.fixture
def floor(client, settings):
    settings.TEST_CLOCK = True
    return Floor.open(
        client, "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )


@pytest.fixture
def batch(floor):
    return floor.place(16, "R1-01", "A-1", at=PLACED)


@pytest.fixture
def visit(floor, batch):
    return Visit.by(floor.walk.person, LATER)


@pytest.fixture
def waters(floor, batch):
    floor.read("R1-01", "R1-02", at=LATER)


def moving(floor, batch, **changes):
    given = {
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "ended_stay": str(StayRow.objects.get(batch=batch, ended_latest=None).uid),
    }
    return {**given, **changes}


def alive(batch):
    return Balance.objects.get(holder=batch, place="alive").n


# -- What the page says ------------------------------------------------------------------------


def test_the_page_says_where_they_are_and_how_long_they_may_stay(visit, batch):
    text = visit.read("batch", batch)

    code = Batch.objects.get().code
    assert f"{code} in R1-01" in text
    assert "0:20 left" in text
    assert "Limit Thu 14 Jan 2027 08:00 WET" in text
    assert "0 moves of at least 4; 4 still to make." in text
    assert "Complete at the earliest Sat 23 Jan 2027 08:00 WET." in text
    assert "Amphiprion ocellaris Sample Atoll Export" in text


def test_a_stay_past_its_limit_is_said_though_nobody_judged_it_since(floor, visit, batch):
    visit.at = "2027-01-14T09:20:00+00:00"

    text = visit.read("batch", batch)

    assert "1:20 over" in text
    assert "Stay over its limit." in text
    assert "The series" in text


def test_an_early_move_says_that_it_takes_a_fifth(floor, visit, batch):
    floor.move(batch, "R1-02", "B-1", [16], at="2027-01-13T08:00:00+00:00")

    text = visit.read("batch", batch)

    assert "Moves were early, so it takes 5 of them, not 4." in text


# -- Moving ------------------------------------------------------------------------------------


def test_a_move_is_recorded_and_the_next_limit_said(floor, visit, batch, waters):
    text = visit.follow(visit.press("move", batch, **moving(floor, batch)))

    assert "is in R1-02. Next limit Sun 17 Jan 2027 07:40 WET." in text
    assert "1 move of at least 4" in text


def test_the_form_does_not_say_how_many_there_should_be(floor, visit, batch):
    text = visit.read("move", batch)

    assert "16" not in text


def test_ready_things_are_offered_first(floor, visit, batch):
    page = visit.get("move", batch).content.decode()

    assert page.index("R1-02</option>") < page.index(f"R1-01, {Batch.objects.get().code}")
    assert '<optgroup label="Ready">' in page


def test_a_kit_in_use_is_refused_at_its_field_with_what_is_ready(floor, visit, batch, waters):
    answer = visit.press("move", batch, **moving(floor, batch, kit=floor.uids["A-1"]))

    text = words(answer)
    assert answer.status_code == 409
    assert "A-1 is in use in R1-01 since Mon 11 Jan 2027 08:00 WET." in text
    assert "Possible instead: A-2, B-1" in text
    assert StayRow.objects.count() == 1


def test_a_count_that_differs_is_asked_for_again_without_the_number(floor, visit, batch):
    visit.at = "2027-01-13T09:00:00+00:00"
    floor.read("R1-01", "R1-02", at=visit.at)

    answer = visit.press("move", batch, **moving(floor, batch, count="15"))

    assert answer.status_code == 400
    assert "Count again." in words(answer)
    assert 'name="earlier" value="15"' in answer.content.decode()
    assert "16" not in words(answer)


def test_two_equal_counts_stand_and_both_are_kept(floor, visit, batch):
    visit.at = "2027-01-13T09:00:00+00:00"
    floor.read("R1-01", "R1-02", at=visit.at)

    answer = visit.press("move", batch, **moving(floor, batch, count="15", earlier="15"))

    assert "Counts differ." in visit.follow(answer)
    assert alive(batch) == 16


def test_who_is_not_found_is_searched_for(floor, visit, batch, waters):
    answer = visit.press("move", batch, **moving(floor, batch, count="15", missing="1"))

    text = visit.follow(answer)
    assert "1 not found since Thu 14 Jan 2027 07:40 WET: search R1-01" in text
    assert (alive(batch), Missing.objects.get().open) == (15, 1)


def test_a_rule_that_a_manager_may_set_aside_needs_a_reason(floor, visit, batch):
    floor.read("R1-01", at=LATER)
    floor.read("R1-02", at=LATER, salinity="35.0")
    given = moving(floor, batch)

    refused = visit.press("move", batch, **given)
    rule = refused.context["form"].fields["set_aside"].choices[0][0]
    silent = visit.press("move", batch, **given, set_aside=rule)
    done = visit.press("move", batch, **given, set_aside=rule, why_aside="The limit is close.")

    assert "Set aside, with a reason" in words(refused)
    assert "Say why." in words(silent)
    assert done.status_code == 302


def test_what_has_been_done_is_recorded_though_rules_stand_against_it(floor, visit, batch):
    given = moving(floor, batch, standing="happened", when="2027-01-14T07:10")

    text = visit.follow(visit.press("move", batch, **given))

    assert "Next limit Sun 17 Jan 2027 07:10 WET." in text


def test_a_time_that_came_twice_is_asked_back(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(
        client, "2027-10-30T07:00:00+02:00", zone="Europe/Berlin", containers=2, kits=2
    )
    batch = floor.place(5, "R1-01", "A-1", at="2027-10-30T08:00:00+02:00")
    visit = Visit.by(floor.walk.person, "2027-10-31T04:00:00+01:00")
    given = moving(
        floor, batch, count="5", standing="happened", when="2027-10-31T02:30", reason="late"
    )

    asked = visit.press("move", batch, **given)
    text = visit.follow(visit.press("move", batch, **given, when_which="1"))

    assert "this time came twice" in words(asked)
    assert "Sun 31 Oct 2027 02:30 CEST" in words(asked)
    assert "Placed here Sun 31 Oct 2027 02:30 CET" in text


def test_a_time_that_never_came_is_asked_back(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(
        client, "2027-03-27T07:00:00+01:00", zone="Europe/Berlin", containers=2, kits=2
    )
    batch = floor.place(5, "R1-01", "A-1", at="2027-03-27T08:00:00+01:00")
    visit = Visit.by(floor.walk.person, "2027-03-28T04:00:00+02:00")
    given = moving(floor, batch, count="5", when="2027-03-28T02:30")

    answer = visit.press("move", batch, **given)

    assert answer.status_code == 400
    assert "this time never came" in words(answer)
