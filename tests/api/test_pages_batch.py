"""The page of a batch, and what people tell there: moves, losses, counts, signs, holds."""

import pytest
from django.urls import reverse

from stock.models import Balance, Batch, HoldRow, Loss, Missing, StayRow
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


# -- Losses, counts, signs, holds --------------------------------------------------------------


def test_a_loss_keeps_when_it_was_found_and_last_seen_alive(visit, batch):
    answer = visit.press(
        "loss",
        batch,
        count="1",
        fate="dead",
        cause="unknown",
        when="2027-01-14T07:35",
        seen="2027-01-13T19:10",
    )

    assert "1 dead." in visit.follow(answer)
    loss = Loss.objects.get()
    assert (loss.found_at.isoformat(), loss.last_seen_at.isoformat()) == (
        "2027-01-14T07:35:00+00:00",
        "2027-01-13T19:10:00+00:00",
    )
    assert alive(batch) == 15


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "one", "", "17"])
def test_a_loss_that_cannot_be_is_refused_at_its_field(visit, batch, count):
    answer = visit.press("loss", batch, count=count, fate="dead", cause="unknown")

    assert answer.status_code in (400, 409)
    assert answer.context["form"].errors["count"]
    assert alive(batch) == 16


def test_a_sign_makes_all_of_them_suspected_and_asks(visit, batch):
    answer = visit.press("sign", batch, signs=["white_spots"], affected="2")

    text = visit.follow(answer)
    assert "All of them are suspected: they share water." in text
    assert "Sign seen. 2 affected" in text


def test_a_sign_of_nothing_is_refused(visit, batch):
    answer = visit.press("sign", batch, affected="2")

    assert "Say what is seen." in words(answer)


def test_a_count_on_its_own_is_typed_blind(visit, batch):
    visit.at = "2027-01-12T08:00:00+00:00"

    wrong = visit.press("count-batch", batch, count="15")
    right = visit.press("count-batch", batch, count="16", earlier="15")

    assert "Count again." in words(wrong)
    assert "Counted 16." in visit.follow(right)


def test_a_hold_stands_on_the_page_until_it_is_lifted(visit, batch):
    held = visit.follow(visit.press("hold", batch, why="Scratching."))
    lifted = visit.press("lift-hold", HoldRow.objects.get().fact, why="It was sand.")

    assert "Nothing of this batch is certified or leaves. Scratching." in held
    assert "Scratching." not in visit.follow(lifted)


def test_the_missing_are_found_again(floor, visit, batch, waters):
    visit.press("move", batch, **moving(floor, batch, count="15", missing="1"))

    answer = visit.press(
        "found",
        Missing.objects.get().fact,
        count="1",
        container=floor.uids["R1-02"],
        alive="yes",
    )

    assert "Found, and no longer searched for." in visit.follow(answer)
    assert alive(batch) == 16


def test_the_missing_are_not_presumed_lost_too_early(floor, visit, batch, waters):
    visit.press("move", batch, **moving(floor, batch, count="15", missing="1"))

    answer = visit.press("presume-lost", Missing.objects.get().fact, count="1", why="No trace.")

    assert answer.status_code == 409
    assert "it is too early to presume them lost" in words(answer)


# -- History and roles -------------------------------------------------------------------------


def test_the_history_says_what_was_told_by_whom(floor, visit, batch):
    visit.press("loss", batch, count="1", fate="dead", cause="jump", note="On the floor.")

    text = visit.read("history", batch)

    assert "1 dead, jump On the floor. mara" in text
    assert "16 placed in R1-01 with kit A-1" in text


def test_an_auditor_reads_and_tells_nothing(floor, batch):
    visit = Visit.by(floor.walk.as_person("Otto", "auditor").person, LATER)

    text = visit.read("batch", batch)

    assert "Move them" not in text
    assert "Record a loss" not in text
    assert visit.get("move", batch).status_code == 403
    assert visit.press("loss", batch, count="1").status_code == 403


def test_a_keeper_does_not_hold(floor, batch):
    visit = Visit.by(floor.walk.as_person("Kim", "keeper").person, LATER)

    assert "Hold it" not in visit.read("batch", batch)
    assert visit.press("hold", batch, why="Because.").status_code == 403


def test_a_closed_batch_is_not_moved(visit, batch):
    visit.press("loss", batch, count="16", fate="dead", cause="unknown")

    answer = visit.get("move", batch)

    assert answer.status_code == 409
    assert "Nobody of this batch is here any more." in words(answer)
    assert reverse("move", args=[batch]) not in visit.get("batch", batch).content.decode()
