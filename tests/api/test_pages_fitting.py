"""Pages on which pieces go in, turn out to be broken, or were wet; and what became of it."""

import pytest
from django.test import Client

from stock.models import Batch, DeviationRow, Fact, Piece
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATER = "2027-01-11T22:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at=PLACED)
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, LATER)


def press_fit(visit, floor, **more):
    failed, spare = floor.pieces["A-1"][0], floor.pieces["B-1"][0]
    given = {"piece": spare, "into": floor.uids["A-1"], "replaces": failed, **more}
    return visit.press("fit-piece", floor.walk.site, **given)


def test_a_swap_told_late_with_its_reason_counts_from_when_it_was_done(floor, visit):
    late = {"when": "2027-01-11T19:00", "reason": "Written down after the shift."}

    text = visit.follow(press_fit(visit, floor, is_broken="on", standing="happened", **late))

    told = Fact.objects.get(kind="piece_fitted", performed_at="2027-01-11T19:00:00Z")
    assert told.reason == "Written down after the shift."
    assert Piece.objects.get(uid=floor.pieces["A-1"][0]).defective
    assert f"B-1 heater: in use. It reaches {Batch.objects.get().code}." in text
    assert "B-1: incomplete, not usable. No heater in it." in text


def test_without_a_reason_a_late_swap_is_asked_back_at_its_field(floor, visit):
    answer = press_fit(visit, floor, when="2027-01-11T19:00")

    assert answer.status_code in (400, 409)
    assert "late. Say why." in " ".join(answer.context["form"].errors["reason"])


def test_what_is_defective_must_be_named(floor, visit):
    answer = press_fit(visit, floor, replaces="", is_broken="on")

    assert answer.status_code == 400
    assert "Say which piece is defective." in words(answer)


def test_the_kit_is_chosen_that_the_page_before_was_about(floor, visit):
    kit = floor.uids["A-1"]

    html = visit.get("fit-piece", floor.walk.site, query=f"?subject={kit}").content.decode()

    assert f'<option value="{kit}" selected>A-1, R1-01</option>' in html
    assert "unplug heaters and pumps before hands go in" in html


def test_a_broken_piece_breaks_its_kit(floor, visit):
    given = {"piece": floor.pieces["B-1"][0], "what": "It does not heat."}

    text = visit.follow(visit.press("mark-defective", floor.walk.site, **given))

    assert "B-1 heater: defective." in text
    assert "B-1 defective" in text


def test_found_wet_while_it_is_in_use_the_kit_shows_which_use_is_in_question(floor, visit):
    assert "Until Was it ready?" in visit.read("kit", floor.uids["A-1"])
    assert "now yes" in visit.read("kit", floor.uids["A-1"])

    told = visit.press("find-wet", floor.walk.site, subjects=[floor.uids["A-1"]])

    said = visit.follow(told)
    asked = DeviationRow.objects.get(rule="kit_not_ready")
    html = visit.get("kit", floor.uids["A-1"]).content.decode()
    assert f"It reaches {Batch.objects.get().code}." in said
    assert f'<a href="/questions/{asked.uid}">no, not decided</a>' in html
