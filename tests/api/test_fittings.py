"""Pieces that go into kits and out of them, over REST."""

from datetime import datetime

import pytest

from stock import rebuild
from tests.equipment import (
    DAY,
    make_cup,
    make_kit,
    make_pieces,
)
from tests.floor import Floor
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, f"{DAY}09:15:00+01:00")


@pytest.fixture
def pieces(walk):
    return make_pieces(walk)


@pytest.fixture
def kit(walk, pieces):
    return make_kit(walk, pieces)


@pytest.fixture
def cup(walk):
    return make_cup(walk)


def test_a_kit_without_a_needed_type_is_incomplete(walk):
    here = f"sites/{walk.site}"
    kit = walk.post(f"{here}/kits", {"label": "C-1", "needs": ["heater", "lid"]})["kit"]["uid"]
    heater = walk.post(f"{here}/pieces", {"label": "H-1", "type": "heater"})["piece"]["uid"]

    fitted = walk.post(f"pieces/{heater}/fittings", {"kit": kit})

    assert fitted["piece"]["kit"] == kit
    assert [(one["uid"], one["state"]) for one in fitted["kits"]] == [(kit, "incomplete")]
    why = walk.get(f"kits/{kit}")["why"]
    assert [one["numbers"]["type"] for one in why if one["rule"] == "kit_incomplete"] == ["lid"]


def test_a_borrowed_heater_leaves_the_other_kit_incomplete(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-02-02T21:10:00+01:00", containers=1, kits=2)
    walk, heater = floor.walk, floor.pieces["B-1"][0]
    failed = floor.pieces["A-1"][0]

    swapped = walk.post(
        f"pieces/{heater}/fittings",
        {"kit": floor.uids["A-1"], "replaces": failed, "replaced_is_defective": True},
    )

    states = {one["label"]: one["state"] for one in swapped["kits"]}
    assert states == {"A-1": "ready", "B-1": "incomplete"}
    assert walk.get(f"pieces/{failed}")["state"] == "defective"
    assert walk.get(f"pieces/{failed}")["piece"]["kit"] is None
    assert rebuild.check(datetime.fromisoformat(walk.now)) == []


def test_a_defective_piece_is_fitted_nowhere(walk, kit, cup):
    told = walk.post(f"pieces/{cup}/defects", {"what": "cracked"})

    problem = walk.refused(f"pieces/{cup}/fittings", {"kit": kit})

    assert told["piece"]["state"] == "defective"
    assert (problem.status, problem.code) == (409, "piece_defective")


def test_a_kit_with_a_defective_piece_is_defective(walk, kit, pieces):
    told = walk.post(f"pieces/{pieces[0]}/defects", {"what": "does not heat"})

    assert [(one["uid"], one["state"]) for one in told["kits"]] == [(kit, "defective")]


def test_only_what_is_in_the_kit_can_be_replaced_there(walk, kit, cup):
    other = make_cup(walk, "Cup 2")

    problem = walk.refused(f"pieces/{cup}/fittings", {"kit": kit, "replaces": other})

    assert (problem.status, problem.code) == (409, "contradicts_record")


def test_a_fitting_says_where_the_piece_goes(walk, cup):
    problem = walk.refused(f"pieces/{cup}/fittings", {})

    assert (problem.status, problem.code) == (400, "unreadable")
    assert problem.body["reasons"][0]["pointer"] == "/kit"
