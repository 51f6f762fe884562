"""Every quantity gives the values of the vectors, which were computed elsewhere."""

import json
from pathlib import Path

import pytest

from protocols import water

VECTORS = json.loads((Path(__file__).parent / "vectors.json").read_text(encoding="utf-8"))
GOOD = [one for one in VECTORS if one["expected"] != "error"]
BAD = [one for one in VECTORS if one["expected"] == "error"]


def by_id(vector):
    return f"{vector['id']}-{vector['quantity']}"


@pytest.mark.parametrize("vector", GOOD, ids=by_id)
def test_a_quantity_is_what_others_computed(vector):
    found = getattr(water, vector["quantity"])(**vector["inputs"])

    assert found == pytest.approx(
        vector["expected"], rel=vector["rel_tol"], abs=vector.get("abs_tol", 0)
    )


@pytest.mark.parametrize("vector", BAD, ids=by_id)
def test_what_cannot_be_is_refused(vector):
    with pytest.raises(ValueError, match="allowed is"):
        getattr(water, vector["quantity"])(**vector["inputs"])


def test_every_quantity_has_a_vector_and_is_exported_under_its_name():
    assert {one["quantity"] for one in VECTORS} == set(water.QUANTITIES)
    assert set(water.QUANTITIES) <= set(water.__all__)


@pytest.mark.parametrize("vector", GOOD, ids=by_id)
def test_the_companion_gives_the_same_with_its_unit(vector):
    answer = water.answer_with_flags(vector["quantity"], **vector["inputs"])

    assert answer.value == getattr(water, vector["quantity"])(**vector["inputs"])
    assert answer.unit.split(" ")[0] in {vector["unit"].split(" ")[0], "1"}


@pytest.mark.parametrize("one", water.QUANTITIES.values(), ids=lambda one: one.name)
def test_every_quantity_says_its_unit_formula_range_and_source(one):
    assert all((one.says, one.unit, one.formula, one.range, one.source))
    assert "\n" not in one.formula + one.range + one.source
