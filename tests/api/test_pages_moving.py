"""A move step by step on pages: begun, taken over, told twice, in an emergency."""

from datetime import datetime

import pytest
from django.test import Client

from stock.models import Balance, BegunMove, DeviationRow, Fact, StayRow, Task
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
AT = "2027-01-13T09:00:00+00:00"
LATER = "2027-01-13T09:12:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=4, kits=4
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    for name in ("Ada", "Ben"):
        floor.uids[name] = floor.walk.as_person(name, "keeper").person
    floor.read("R1-01", "R1-02", at=AT)
    return floor


@pytest.fixture
def batch(floor):
    return floor.uids["batch"]


@pytest.fixture
def ada(floor):
    return Visit.by(floor.uids["Ada"], AT)


@pytest.fixture
def ben(floor):
    return Visit.by(floor.uids["Ben"], LATER)


@pytest.fixture
def moving(floor, batch):
    def moving(**changes):
        given = {
            "container": floor.uids["R1-02"],
            "kit": floor.uids["B-1"],
            "count": "16",
            "ended_stay": str(StayRow.objects.filter(batch=batch).latest("began_latest").uid),
        }
        return {**given, **changes}

    return moving


def moved():
    return Fact.objects.get(kind="batch_moved")


# -- The steps --------------------------------------------------------------------------------


def test_every_step_stands_on_the_page_with_its_cautions_and_no_number_to_expect(ada, batch):
    text = ada.read("move", batch)

    for step in ("Prepare the new container", "Count them out of R1-01", "Count them in"):
        assert step in text
    assert "unplug heaters and pumps before hands go in" in text
    assert "A-1 heater" in text
    assert "16" not in text


def test_two_counts_that_are_equal_stand_and_what_was_done_around_is_kept(ada, batch, moving):
    ada.press("move", batch, **moving(count_out="15", count="15", fed="on", lid_on="on"))

    assert (moved().body["counts"], moved().body["around"]) == ([15, 15], ["fed", "lid_on"])
    assert DeviationRow.objects.get(rule="count_differs").open
    assert Balance.objects.get(holder=batch, place="alive").n == 16


def test_counts_that_differ_are_both_kept_and_asked_for_again(ada, batch, moving):
    again = ada.press("move", batch, **moving(count_out="16", count="15"))

    html = again.content.decode()
    assert "Count again." in words(again)
    assert 'name="earlier" value="16,15"' in html
    assert 'data-steps="in"' in html
    ada.press("move", batch, **moving(earlier="16,15"))
    assert moved().body["counts"] == [16, 15, 16]


def test_the_move_counts_from_when_they_were_counted_in(ben, batch, moving):
    ben.press("move", batch, **moving(ago_s="720"))

    assert moved().performed_at == datetime.fromisoformat(AT)


def test_a_reason_is_chosen_instead_of_typed(floor, batch, moving):
    boss = Visit.by(floor.walk.person, AT)
    floor.read("R1-02", at=AT, salinity="35.0")
    given = moving(set_aside="water_mismatch", why=["early", "reading"])

    boss.press("move", batch, **given)

    said = "nobody is here at the time that was planned. The readings are old"
    assert said in moved().insist[0]["reason"]
    assert said in moved().reason


# -- Begun by one, taken over by another ------------------------------------------------------


def test_another_tablet_goes_on_where_the_first_stopped_and_both_are_named(
    floor, ada, ben, batch, moving
):
    said = moving(count="", earlier="16", fed="on", ago_s="60", why=["early"])
    kept = ada.press("begun-move", batch, **said, step="in", version="0")

    assert kept.json() == {"version": 1}
    assert "Ada began to tell this move, Wed 13 Jan 2027 09:00 WET" in ben.read("move", batch)
    page = ben.get("move", batch, query="?go-on=1").content.decode()
    assert 'data-steps="in"' in page
    assert f'value="{floor.uids["R1-02"]}" selected' in page
    assert f'value="{floor.uids["Ada"]}" selected' in page
    assert 'name="earlier" value="16"' in page
    assert 'name="ago_s" value="780"' in page  # a minute, and the twelve since
    ben.press("move", batch, **moving(earlier="16", beside=floor.uids["Ada"]))
    assert (str(moved().doer), moved().body["with"]) == (
        floor.uids["Ben"],
        [floor.uids["Ada"]],
    )
    assert not BegunMove.objects.exists()
    assert "Ben with Ada" in ben.read("history", batch)


def test_who_has_not_seen_the_last_word_is_told_whose_it_is(ada, ben, batch, moving):
    ada.press("begun-move", batch, **moving(), step="feed", version="0")
    ben.press("begun-move", batch, **moving(), step="out", version="1")

    late = ada.press("begun-move", batch, **moving(), step="carry", version="1")

    assert late.status_code == 412
    assert late.json()["by"] == "Ben"
    assert late.json()["href"].endswith("?go-on=1")


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({"step": "dance"}, 400),
        ({"step": "in", "ended_stay": "x"}, 404),
        ({"step": "in", "note": "a" * 16_001}, 413),
    ],
)
def test_what_cannot_be_kept_is_refused(ada, batch, moving, changes, status):
    assert ada.press("begun-move", batch, **moving(**changes)).status_code == status
    assert not BegunMove.objects.exists()


# -- Two tell it, and the rules ---------------------------------------------------------------


def test_s34_the_second_sees_who_told_it_and_both_versions(ada, ben, batch, moving):
    before, differing = moving(), moving(count="14", earlier="14")
    ada.press("move", batch, **before)

    same = ben.press("move", batch, **before)
    differs = ben.press("move", batch, **differing)

    assert same.status_code == differs.status_code == 409
    assert "Done by Ada, Wed 13 Jan 2027 09:00 WET" in words(same)
    assert "Nothing more is to be done." in words(same)
    assert "Ada R1-02 B-1 16 0" in words(differs)
    assert "you R1-02 B-1 14 0" in words(differs)
    assert "record it below as done: both accounts are kept" in words(differs)
    assert Fact.objects.filter(kind="batch_moved").count() == 1


def test_s08_the_kit_on_both_sides_is_said_before_hands_go_in_and_again_at_the_end(
    floor, ada, batch, moving
):
    same = moving(kit=floor.uids["A-1"])

    before = ada.press("move-check", batch, **same)
    fits = ada.press("move-check", batch, **moving())
    after = ada.press("move", batch, **same)

    assert "A-1 is in use in R1-01" in words(before)
    assert "Possible instead: A-2, B-1" in words(before)
    assert "Container, kit and both waters fit." in words(fits)
    assert "A-1 is in use in R1-01" in words(after)
    ada.press("move", batch, **moving())
    assert "dirty" in ada.read("kit", floor.uids["A-1"])


# -- Animals first ----------------------------------------------------------------------------


def test_an_emergency_is_recorded_as_it_was_and_looked_at_within_12_hours(
    floor, ada, batch, moving
):
    assert "Animals in danger: move them at once" in ada.read("move", batch)
    given = moving(container=floor.uids["R1-04"], kit="none", count="", what="temperature")

    text = ada.follow(ada.press("emergency-move", batch, **given))

    assert "is in R1-04." in text
    assert "A manager looks at it within 12 hours." in text
    assert (moved().standing, moved().body["counts"]) == ("emergency", [])
    assert moved().reason == "The water is too cold or too hot: a heater failed."
    task = Task.objects.get(what="decide", key__contains="emergency_review")
    assert task.limit == datetime.fromisoformat("2027-01-13T21:00:00+00:00")


def test_what_is_wrong_has_to_be_said(ada, batch, moving):
    answer = ada.press("emergency-move", batch, **moving(what="other"))

    assert answer.status_code == 400
    assert "Write something." in words(answer)
