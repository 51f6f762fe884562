"""Carry-over where people decide: for managers and veterinarians, and nobody else."""

import pytest
from django.test import Client

from protocols.carryover.limits import LIMITS
from stock.models import DeviationRow
from tests.floor import Floor
from tests.visit import Visit
from tests.walk import Problem

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATE = "2027-01-14T09:20:00+00:00"
AFTER = "2027-01-14T10:00:00+00:00"
FIGURE = "Carry-over"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """A batch moved 1:20 past its limit, and what a sweep made of it afterwards."""
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    batch = floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [16], at=LATE, carried={"water_ml": "250"})
    floor.walk.at(AFTER).post(
        "test-clock/sweeps", {"site": floor.walk.site, "carry_over": True}
    )
    floor.uids["batch"] = batch
    return floor


@pytest.fixture
def late(floor):
    return DeviationRow.objects.get(rule="stay_over").uid


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, AFTER)


def test_a_question_shows_the_figure_with_its_band_limits_and_actions(visit, late):
    text = visit.read("question", late)

    assert "is the parasite still with them?" in text
    assert "could be" in text or "nearly certain" in text
    assert "Restart: six stays of 48 h, the first move now" in text
    assert "Expected numbers by stay" in text
    assert LIMITS[0] in text


def test_water_that_came_along_counts_and_less_than_none_is_refused(floor):
    answer = floor.walk.get(f"batches/{floor.uids['batch']}/carry-over")
    body = floor.move_body(floor.uids["batch"], "R1-01", "A-1", [16])

    with pytest.raises(Problem) as refused:
        floor.walk.post(
            f"batches/{floor.uids['batch']}/moves", {**body, "carried": {"water_ml": "-1"}}
        )

    assert [one["water_carried_ml"] for one in answer["carry_over"]["inputs"]["stays"]] == [
        0,
        250,
    ]
    assert refused.value.body["reasons"][0]["pointer"] == "/carried/water_ml"


def test_the_morning_list_and_a_page_of_its_own_show_it_too(floor, visit):
    assert "Carry-over, by a model" in visit.read("questions", floor.walk.site)
    assert LIMITS[0] in visit.read("carry-over", floor.uids["batch"])


def test_a_keeper_reads_the_question_without_it(floor, late):
    keeper = Visit.by(floor.walk.as_person("Kim", "keeper").person, AFTER)

    assert FIGURE not in keeper.read("question", late)
    assert FIGURE not in keeper.read("questions", floor.walk.site)


def test_rest_says_what_was_computed_of_which_inputs_by_which_model(floor):
    said = floor.walk.at(AFTER).get(f"batches/{floor.uids['batch']}/carry-over")["carry_over"]

    assert said["version"] == said["found"]["version"] == "carry-over-1"
    assert [stay["end_h"] for stay in said["inputs"]["stays"]] == [74, 74]
    on_fish = said["found"]["on_fish"]
    assert set(on_fish) == {"low", "central", "high", "words", "odds"}
    assert said["found"]["hour"] == 74
    assert len(said["found"]["trophonts"]) == 75
